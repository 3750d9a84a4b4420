//! The keys that one needs on an evening, on one page to print and to pin up beside the till.

use super::{Action, Binding, Scope, Tab, bindings};

/// What is typed for a line of a count, and what it means.
const ENTRIES: &[(&str, &str)] = &[
    ("3", "three sealed"),
    ("3.4", "three sealed, one open at four tenths"),
    (".4.7", "two open"),
    (".45", "one open, read to half a tenth"),
    ("2 812g", "two sealed, one open that weighs 812 g with its bottle"),
    ("143mm", "one open, the liquid 143 mm above the table"),
    ("0", "none"),
    ("Enter", "as expected, without a look"),
];

/// The scopes that are on it, each with its title.
const SCOPES: &[(Scope, &str)] = &[
    (Scope::CountList, "Count, entries typed out"),
    (Scope::CountOneKey, "Count, one key an entry"),
    (Scope::Variance, "Variance"),
    (Scope::Orders, "Orders"),
    (Scope::Receive, "Receive"),
    (Scope::Losses, "Losses"),
    (Scope::Stock, "Stock"),
    (Scope::Drinks, "Drinks"),
    (Scope::House, "House-made"),
    (Scope::Book, "Book"),
];

/// Three columns on one sheet, landscape.
const STYLE: &str = "\
body{font:7.2pt/1.25 sans-serif;color:#000;background:#fff;margin:8mm}h1{font-size:13pt;margin:0 0 2mm}\
main{columns:3;column-gap:7mm}section{break-inside:avoid;margin:0 0 2.6mm}h2{font-size:8pt;margin:0 0 .6mm;border-bottom:1px solid #000}\
dl{display:grid;grid-template-columns:max-content 1fr;column-gap:2mm;margin:0}dt{font-weight:bold}dd{margin:0}\
footer{font-size:7pt;margin-top:2mm}@media print{@page{size:A4 landscape;margin:8mm}body{margin:0}}";

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

fn section(title: &str, rows: impl IntoIterator<Item = (String, String)>) -> String {
    let row = |(key, does): (String, String)| format!("<dt>{}</dt><dd>{}</dd>", escaped(&key), escaped(&does));
    let rows: String = rows.into_iter().map(row).collect();
    format!("<section><h2>{}</h2><dl>{rows}</dl></section>\n", escaped(title))
}

fn short(binding: &Binding) -> (String, String) {
    (binding.labels(), binding.help.trim_end_matches('.').to_owned())
}

/// Whether a key of every screen is worth a line.
fn is_wanted(binding: &&Binding) -> bool {
    let wanted = [
        Action::Find,
        Action::Anything,
        Action::Help,
        Action::NextScreen,
        Action::Quit,
        Action::WhoIsHere,
        Action::NextLook,
        Action::ToggleMouse,
        Action::Back,
        Action::Up,
        Action::Down,
    ];
    wanted.iter().any(|action| matches!(binding.does, super::Does::Act(does) if does == *action))
}

/// The page, as `docs/key-card.html`.
pub fn card() -> String {
    let of = |scope: Scope| bindings().filter(move |binding| binding.scope == scope);
    let screens = Tab::ALL.iter().map(|tab| (tab.letter().to_string(), tab.title().to_owned()));
    let mut body = section("The screens", screens);
    body += &section("On every screen", of(Scope::Global).filter(is_wanted).map(short));
    body += &section("What to type for a bottle", ENTRIES.iter().map(|(k, d)| ((*k).to_owned(), (*d).to_owned())));
    for (scope, title) in SCOPES {
        body += &section(title, of(*scope).filter(|binding| !binding.help.is_empty()).map(short));
    }
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Tantalus: keys</title><style>{STYLE}</style></head>\
         <body><h1>Tantalus: keys</h1>\n<main>{body}</main><footer>? on any screen shows all of its keys.</footer></body></html>\n"
    )
}
