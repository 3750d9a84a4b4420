//! The words of a till's name: what it calls something, how much of it, and whether it is stock at all. All words are
//! common practice of the trade in ten languages; there is no source.

use crate::domain::till::folded;

/// Money and no goods: payments, tips, deposits, vouchers, charges.
pub const MONEY: &[&str] = &[
    "payment",
    "cash",
    "card",
    "tip",
    "tips",
    "gratuity",
    "deposit",
    "voucher",
    "gift card",
    "service charge",
    "rounding",
    "zahlung",
    "bar",
    "karte",
    "trinkgeld",
    "pfand",
    "gutschein",
    "servicegebuhr",
    "rundung",
    "anzahlung",
    "paiement",
    "especes",
    "carte",
    "pourboire",
    "consigne",
    "bon cadeau",
    "service",
    "arrondi",
    "acompte",
    "pago efectivo",
    "efectivo",
    "tarjeta",
    "propina",
    "deposito",
    "vale",
    "bono",
    "redondeo",
    "contanti",
    "carta",
    "mancia",
    "cauzione",
    "buono",
    "coperto",
    "arrotondamento",
    "pagamento",
    "dinheiro",
    "cartao",
    "gorjeta",
    "vale oferta",
    "betaling",
    "kontant",
    "kort",
    "drikkepenge",
    "pant",
    "gavekort",
    "oresavrunding",
    "betalning",
    "dricks",
    "presentkort",
    "avrundning",
    "contant",
    "pin",
    "fooi",
    "statiegeld",
    "cadeaubon",
    "afronding",
    "tax",
    "steuer",
    "surcharge",
];

/// Money off.
pub const DISCOUNTS: &[&str] = &[
    "discount",
    "rebate",
    "reduction",
    "rabatt",
    "nachlass",
    "skonto",
    "preisnachlass",
    "remise",
    "descuento",
    "sconto",
    "desconto",
    "rabat",
    "avslag",
    "prisavdrag",
    "korting",
    "promotion",
];

/// What a till sells that stands on no shelf.
const NOT_STOCK: &[&str] = &[
    "bag",
    "tote",
    "carrier",
    "ticket",
    "entry",
    "admission",
    "cloakroom",
    "wardrobe",
    "coat",
    "gift",
    "merch",
    "tshirt",
    "shirt",
    "poster",
    "delivery",
    "packaging",
    "corkage",
    "hire",
    "room",
    "event",
    "class",
    "workshop",
    "donation",
    "breakage",
    "fee",
    "charge",
    "booking",
    "tute",
    "tasche",
    "eintritt",
    "garderobe",
    "lieferung",
    "verpackung",
    "korkgeld",
    "raummiete",
    "veranstaltung",
    "spende",
    "gebuhr",
    "entree",
    "vestiaire",
    "livraison",
    "sac",
    "entrada",
    "guardarropa",
    "bolsa",
    "ingresso",
    "guardaroba",
    "borsa",
    "saco",
    "bengaleiro",
    "garderobe",
    "pose",
    "inngang",
    "intrade",
    "garderob",
    "pase",
    "kasse",
    "toegang",
    "tas",
    "stamp",
    "minimum",
    "balance",
];

/// What a word of portions says: times so many of the usual, in thousandths; the likelier first where it may be several.
pub(super) const PORTIONS: &[(&[&str], &[i64])] = &[
    (
        &[
            "double",
            "dbl",
            "dble",
            "doppel",
            "doppelt",
            "doppelter",
            "doppelte",
            "doble",
            "doppio",
            "doppia",
            "duplo",
            "dobbelt",
            "dubbel",
            "dubbele",
            "dobbel",
        ],
        &[2_000],
    ),
    (&["triple", "trpl", "dreifach", "triplo", "tripel"], &[3_000]),
    (
        &[
            "half", "hlf", "halbe", "halber", "halbes", "halb", "demi", "demie", "media", "medio", "mezzo", "mezza",
            "meia", "meio", "halv", "halvt", "halve", "halfje",
        ],
        &[500],
    ),
    (
        &[
            "single", "sgl", "sngl", "einfach", "simple", "sencillo", "singolo", "simples", "enkel", "enkelt",
            "regular", "reg", "std", "standard",
        ],
        &[1_000],
    ),
    (
        &[
            "large", "lrg", "lge", "lg", "gross", "grosser", "grosses", "grosse", "grand", "grande", "stor", "stort",
            "groot", "grote", "xl", "big",
        ],
        &[2_000, 1_500, 1_000],
    ),
    (
        &[
            "small", "sml", "sm", "klein", "kleiner", "kleines", "kleine", "petit", "petite", "pequeno", "pequena",
            "piccolo", "piccola", "lille", "liten", "litet", "chico",
        ],
        &[1_000, 500],
    ),
];

/// Vessels that hold several serves; how many, the price tells.
pub(super) const SHARED: &[&str] = &[
    "jug", "pitcher", "carafe", "karaffe", "krug", "pichet", "jarra", "caraffa", "brocca", "jarro", "kanna", "kande",
    "mugge", "karaf", "kan", "bowl", "tower", "bucket", "tray", "flight", "sharer",
];

/// A whole bottle of what is poured by the glass.
pub(super) const BOTTLE: &[&str] = &[
    "bottle",
    "btl",
    "bot",
    "flasche",
    "fl",
    "bouteille",
    "bt",
    "botella",
    "bottiglia",
    "garrafa",
    "flaske",
    "flaska",
    "fles",
];

/// Words that say when or how it was sold, not what.
pub(super) const FILLERS: &[&str] = &[
    "hh",
    "happy",
    "hour",
    "promo",
    "special",
    "offer",
    "deal",
    "new",
    "neu",
    "togo",
    "takeaway",
    "terrace",
    "event",
    "evt",
    "staff",
    "comp",
    "house",
    "glass",
    "gls",
    "glas",
    "verre",
    "pint",
    "pt",
    "copa",
    "calice",
    "copo",
    "rocks",
    "rox",
    "neat",
    "up",
    "ice",
    "no",
    "extra",
    "glutenfree",
    "vegan",
    "plu",
    "item",
];

/// Words that carry little.
pub(super) const SMALL: &[&str] = &[
    "the", "of", "and", "with", "w", "on", "over", "at", "de", "del", "della", "la", "le", "el", "en", "und", "mit",
    "et", "avec", "y", "con", "e", "com", "og", "med", "och", "n", "a",
];

/// Words that no drink is known by alone: what many drinks are, and what tills call a key that stands for anything.
const VAGUE: &[&str] = &[
    "beer", "wine", "drink", "cocktail", "spirit", "shot", "food", "snack", "soft", "house", "home", "bar", "extra",
    "special", "misc", "other", "test", "item", "open", "menu", "set", "staff", "guest", "party", "table", "happy",
    "hour", "bier", "wein", "getranke", "speise", "haus", "diverse", "divers", "autre", "maison", "boisson", "biere",
    "vin", "vino", "cerveza", "bebida", "comida", "casa", "varios", "otro", "birra", "bevanda", "varie", "altro",
    "cerveja", "vinho", "diversos", "outro", "ol", "mat", "mad", "drikke", "hus", "andet", "annet", "diversen", "huis",
    "eten", "drank",
];

/// Words of what is done to a drink, or put into it for more money: what follows names no drink of its own.
const CHANGES: &[&str] =
    &["extra", "add", "plus", "no", "without", "sub", "instead", "ohne", "sans", "sin", "senza", "sem", "uten", "utan"];

/// Whether a name says too little to be taken for one drink unasked.
pub(super) fn is_vague(tokens: &[String]) -> bool {
    let little = |token: &String| [VAGUE, SMALL, FILLERS].iter().any(|words| words.contains(&token.as_str()));
    let more = |token: &String| CHANGES.contains(&token.as_str());
    tokens.iter().all(little) || tokens.first().is_some_and(more)
}

/// The words of a name that say that it is no stock.
pub(super) fn not_stock(tokens: &[&str]) -> Option<String> {
    let known = |word: &str, token: &str| {
        token == word || (token.len() >= 5 && word.starts_with(token)) || (word.len() >= 6 && token.ends_with(word))
    };
    let all = MONEY.iter().chain(DISCOUNTS).chain(NOT_STOCK).filter(|word| word.len() > 2 && **word != "bar");
    let hit = |word: &&str| match word.split_once(' ') {
        Some((a, b)) => tokens.windows(2).find(|pair| *pair == [a, b]).map(|pair| pair.join(" ")),
        None => tokens.iter().find(|token| known(word, token)).map(|token| (*token).to_owned()),
    };
    all.into_iter().find_map(hit)
}

/// A name taken apart.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Parts {
    /// Its words, without measures.
    pub(super) tokens: Vec<String>,
    /// A volume that it says, in microlitres.
    pub(super) volume: Option<i64>,
    /// Times so many, written as a figure: `2x`, `½`.
    pub(super) times: Option<i64>,
}

/// Takes a name apart.
pub(super) fn parts(name: &str) -> Parts {
    let name: String = name.chars().take(120).collect();
    let mut out = Parts::default();
    let mut text = name.replace('½', " 1/2 ");
    if let Some(at) = text.find("1/2") {
        let alone = |c: Option<char>| c.is_none_or(|c| !c.is_ascii_digit() && c != '/');
        if alone(text[..at].chars().next_back()) && alone(text[at + 3..].chars().next()) {
            text.replace_range(at..at + 3, " ");
            out.times = Some(500);
        }
    }
    let chars: Vec<char> = text.chars().collect();
    let mut rest = String::with_capacity(text.len());
    let mut at = 0;
    while at < chars.len() {
        let starts = chars[at].is_ascii_digit() && (at == 0 || !chars[at - 1].is_alphanumeric());
        match starts.then(|| figure(&chars[at..])).flatten() {
            Some((Figure::Volume(volume), length)) => {
                out.volume = Some(volume);
                rest.push(' ');
                at += length;
            }
            Some((Figure::Times(times), length)) if out.times.is_none() => {
                out.times = Some(times);
                rest.push(' ');
                at += length;
            }
            _ => {
                rest.push(chars[at]);
                at += 1;
            }
        }
    }
    let fold = folded(&rest);
    for token in fold.split(' ').filter(|t| !t.is_empty()) {
        // `x2` behind a name.
        let behind = token.strip_prefix('x').and_then(|n| n.parse::<i64>().ok()).filter(|n| (2..=12).contains(n));
        match behind {
            Some(times) if out.times.is_none() => out.times = Some(times * 1_000),
            _ => out.tokens.extend(aged(token)),
        }
    }
    out
}

/// `12yr` is two words, and so is `12y`.
fn aged(token: &str) -> Vec<String> {
    let letters = token.trim_start_matches(|c: char| c.is_ascii_digit());
    let years = ["y", "yr", "yrs", "yo", "year", "years", "j", "jahre", "ans", "anni", "anos"];
    if letters.len() < token.len() && years.contains(&letters) {
        return vec![token[..token.len() - letters.len()].to_owned(), "year".to_owned()];
    }
    vec![token.to_owned()]
}

enum Figure {
    Volume(i64),
    Times(i64),
}

/// A measure or a multiple at the beginning of a text, and how long it is: `4cl`, `0,5 l`, `2x`, `2 x`.
fn figure(text: &[char]) -> Option<(Figure, usize)> {
    let digits = text.iter().take_while(|c| c.is_ascii_digit() || matches!(c, '.' | ',')).count();
    if digits == 0 || digits > 6 {
        return None;
    }
    let written: String = text[..digits].iter().map(|c| if *c == ',' { '.' } else { *c }).collect();
    let number: f64 = written.parse().ok()?;
    let blank = usize::from(text.get(digits) == Some(&' '));
    let unit: String =
        text[digits + blank..].iter().take_while(|c| c.is_alphabetic()).take(6).collect::<String>().to_lowercase();
    let microlitres = match unit.as_str() {
        "ml" => 1_000.0,
        "cl" => 10_000.0,
        "dl" => 100_000.0,
        "l" | "lt" | "ltr" => 1_000_000.0,
        // A US fluid ounce, exactly 29.5735295625 ml; a British one is so near that the spec tells which was meant.
        "oz" => 29_573.529_562_5,
        "x" => {
            let whole = (2..=12).contains(&(number as i64)) && written.bytes().all(|b| b.is_ascii_digit());
            return whole.then_some((Figure::Times(number as i64 * 1_000), digits + blank + 1));
        }
        _ => return None,
    };
    let volume = (number * microlitres).round();
    let length = digits + blank + unit.chars().count();
    ((1_000.0..=20_000_000.0).contains(&volume)).then_some((Figure::Volume(volume as i64), length))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_stands_as_it_is_compared() {
        let portions = PORTIONS.iter().flat_map(|(words, _)| words.iter());
        for word in MONEY
            .iter()
            .chain(DISCOUNTS)
            .chain(NOT_STOCK)
            .chain(portions)
            .chain(SHARED)
            .chain(BOTTLE)
            .chain(FILLERS)
            .chain(SMALL)
            .chain(VAGUE)
            .chain(CHANGES)
        {
            assert_eq!(folded(word), *word);
        }
    }

    #[test]
    fn names_are_taken_apart() {
        let tokens = |words: &[&str]| words.iter().map(|w| (*w).to_owned()).collect::<Vec<_>>();
        for (name, want, volume, times) in [
            ("Gin 4cl", &["gin"][..], Some(40_000), None),
            ("GIN 0,5 L", &["gin"], Some(500_000), None),
            ("2x Negroni", &["negroni"], None, Some(2_000)),
            ("Negroni x2", &["negroni"], None, Some(2_000)),
            ("½ Pint Ale", &["pint", "ale"], None, Some(500)),
            ("1/2 Ale", &["ale"], None, Some(500)),
            ("Marrowick 8-Year", &["marrowick", "8", "year"], None, None),
            ("MARROWICK 12YR", &["marrowick", "12", "year"], None, None),
            ("Marrowick 9TH", &["marrowick", "9th"], None, None),
            ("G+T", &["g", "and", "t"], None, None),
            ("", &[], None, None),
        ] {
            assert_eq!(parts(name), Parts { tokens: tokens(want), volume, times }, "{name}");
        }
        assert_eq!(not_stock(&["gift", "voucher"]).as_deref(), Some("voucher"));
        assert_eq!(not_stock(&["the", "service"]).as_deref(), Some("service"));
        assert!(not_stock(&["negroni"]).is_none());
    }
}
