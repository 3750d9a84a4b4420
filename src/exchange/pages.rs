//! Pages to print: one file each, that any browser shows, with nothing that runs and nothing from elsewhere.

mod batch;
mod menu;
mod par;
mod svg;
mod week;
mod worth;

pub use batch::batch_page;
pub use menu::menu_page;
pub use par::par_page;
pub use week::week_page;
pub use worth::worth_page;

use maud::{DOCTYPE, Markup, html};

/// Black on white, one column, figures to the right; a page breaks between parts.
const STYLE: &str = "\
body{font:11pt/1.4 sans-serif;max-width:48em;margin:2em auto;padding:0 1em;color:#000;background:#fff}\
h1{font-size:1.4em;margin:0}h2{font-size:1.1em;margin:1.2em 0 .3em}\
table{border-collapse:collapse;width:100%}th,td{padding:.15em .5em;border-bottom:1px solid #999;text-align:left}\
th.n,td.n{text-align:right;font-variant-numeric:tabular-nums}\
p.small{font-size:.85em}svg{max-width:100%;height:auto}svg text{font:10px sans-serif}\
.box{display:inline-block;width:.9em;height:.9em;border:1px solid #000}\
@media print{body{margin:0;max-width:none}h2{break-after:avoid}tr{break-inside:avoid}}";

/// A whole page, with what its form needs besides.
fn page(title: &str, language: &str, form: &str, body: &Markup) -> String {
    html! {
        (DOCTYPE)
        html lang=(language) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (maud::PreEscaped(STYLE)) (maud::PreEscaped(form)) }
            }
            body { (body) }
        }
    }
    .into_string()
}
