//! What rows say in words: that they are totals, voids, discounts, headings (common practice in ten languages; no source).

use crate::domain::till::{DISCOUNTS, MONEY, folded};
use crate::domain::venue::SaleKind;

/// Words that begin a row of sums.
const TOTALS: &[&str] = &[
    "total",
    "totals",
    "grand total",
    "sub total",
    "subtotal",
    "sum",
    "sum total",
    "day total",
    "overall",
    "summe",
    "gesamt",
    "gesamtsumme",
    "zwischensumme",
    "endsumme",
    "tagessumme",
    "gesamtergebnis",
    "insgesamt",
    "total general",
    "sous total",
    "somme",
    "ensemble",
    "total du jour",
    "suma",
    "suma total",
    "total del dia",
    "totale",
    "totale generale",
    "subtotale",
    "somma",
    "totale giorno",
    "total geral",
    "soma",
    "total do dia",
    "i alt",
    "ialt",
    "delsum",
    "totalsum",
    "totalt",
    "sum totalt",
    "summa",
    "delsumma",
    "slutsumma",
    "totaal",
    "subtotaal",
    "eindtotaal",
    "dagtotaal",
    "totaal generaal",
];

/// What a cell of a kind says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum What {
    /// What the line was.
    Kind(SaleKind),
    /// Money off.
    Discount,
    /// Money that bought no goods.
    Money,
    /// Nothing was sold by it.
    NoSale,
}

const KINDS: &[(What, &[&str])] = &[
    (
        What::Kind(SaleKind::Sale),
        &[
            "sale",
            "sales",
            "sold",
            "normal",
            "item",
            "regular",
            "paid",
            "closed",
            "ok",
            "completed",
            "verkauf",
            "umsatz",
            "artikel",
            "bezahlt",
            "vente",
            "article",
            "paye",
            "venta",
            "pagado",
            "articulo",
            "vendita",
            "venduto",
            "pagato",
            "articolo",
            "venda",
            "pago",
            "artigo",
            "salg",
            "solgt",
            "betalt",
            "vare",
            "forsaljning",
            "betald",
            "vara",
            "verkoop",
            "verkocht",
            "betaald",
        ],
    ),
    (
        What::Kind(SaleKind::Void),
        &[
            "void",
            "voided",
            "cancelled",
            "canceled",
            "cancel",
            "cancellation",
            "storno",
            "storniert",
            "sofortstorno",
            "annule",
            "annulation",
            "annulee",
            "anulado",
            "anulada",
            "anulacion",
            "cancelado",
            "annullato",
            "annullamento",
            "stornato",
            "annullata",
            "anulacao",
            "estorno",
            "annulleret",
            "annullering",
            "annullert",
            "makulert",
            "makulerad",
            "makulering",
            "annullerad",
            "geannuleerd",
            "annulering",
            "vervallen",
            "deleted",
            "geloscht",
            "fortrudt",
            "correction",
            "korrektur",
        ],
    ),
    (
        What::Kind(SaleKind::Return),
        &[
            "return",
            "returned",
            "refund",
            "refunded",
            "retoure",
            "ruckgabe",
            "erstattung",
            "ruckerstattung",
            "gutschrift",
            "retour",
            "rembourse",
            "remboursement",
            "avoir",
            "devolucion",
            "reembolso",
            "abono",
            "reso",
            "rimborso",
            "devolucao",
            "retur",
            "returnering",
            "refundering",
            "tilbakebetaling",
            "tilbagebetaling",
            "aterbetalning",
            "aterkop",
            "terugbetaling",
            "geretourneerd",
            "retourneren",
        ],
    ),
    (
        What::Kind(SaleKind::Comp),
        &[
            "comp",
            "comped",
            "complimentary",
            "on the house",
            "free",
            "house",
            "einladung",
            "gratis",
            "aufs haus",
            "freigetrank",
            "offert",
            "offerte",
            "gratuit",
            "invitacion",
            "cortesia",
            "invitado",
            "omaggio",
            "offerto",
            "oferta",
            "pa huset",
            "bjudet",
            "bjuden",
            "van het huis",
            "weggegeven",
            "promo",
        ],
    ),
    (
        What::Kind(SaleKind::Staff),
        &[
            "staff",
            "staff drink",
            "employee",
            "crew",
            "personal",
            "personalverzehr",
            "mitarbeiter",
            "eigenverbrauch",
            "personnel",
            "personal propio",
            "empleado",
            "empleados",
            "personale",
            "dipendenti",
            "pessoal",
            "ansat",
            "ansatte",
            "personaldryck",
            "personeel",
            "personeelsdrank",
        ],
    ),
    (
        What::Kind(SaleKind::Training),
        &[
            "training",
            "practice",
            "test",
            "schulung",
            "ubung",
            "trainingsmodus",
            "formation",
            "ecole",
            "formacion",
            "practica",
            "entrenamiento",
            "formazione",
            "prova",
            "treino",
            "formacao",
            "traening",
            "opplaering",
            "ovelse",
            "ovning",
            "traning",
            "oefening",
        ],
    ),
    (What::Discount, DISCOUNTS),
    (What::Money, MONEY),
    (
        What::NoSale,
        &[
            "no sale",
            "order",
            "open",
            "transfer",
            "bestellung",
            "offen",
            "umbuchung",
            "commande",
            "ouvert",
            "transfert",
            "pedido",
            "abierto",
            "traslado",
            "ordine",
            "aperto",
            "trasferimento",
            "aberto",
            "transferencia",
            "ordre",
            "apen",
            "aben",
            "overforing",
            "bestallning",
            "oppen",
            "bestelling",
            "overdracht",
        ],
    ),
];

/// Words by which a cell says yes and no.
const YES: &[&str] = &["yes", "y", "true", "1", "x", "ja", "j", "oui", "o", "si", "s", "sim", "wahr", "vrai"];
const NO: &[&str] = &["no", "n", "false", "0", "nein", "non", "nao", "nej", "nei", "nee", "falsch", "faux"];

/// Reads a cell of a column of kinds; a cell that only says yes or no speaks of what the head is called.
pub(super) fn what(cell: &str, head: &str) -> Option<What> {
    let cell = folded(cell);
    if cell.is_empty() || NO.contains(&cell.as_str()) {
        return Some(What::Kind(SaleKind::Sale));
    }
    if YES.contains(&cell.as_str()) {
        return named(&folded(head));
    }
    named(&cell)
}

/// What a word of the table says; a text of several words by its first known one.
fn named(fold: &str) -> Option<What> {
    let find = |word: &str| KINDS.iter().find(|(_, words)| words.contains(&word)).map(|(what, _)| *what);
    find(fold).or_else(|| fold.split(' ').find_map(find))
}

/// Whether a head says what its yes means: “void”, “refunded”.
pub(super) fn names_a_kind(head: &str) -> bool {
    named(&folded(head)).is_some_and(|what| !matches!(what, What::Kind(SaleKind::Sale) | What::NoSale))
}

/// Whether a cell says yes or no.
pub(super) fn yes_or_no(cell: &str) -> bool {
    let fold = folded(cell);
    YES.contains(&fold.as_str()) || NO.contains(&fold.as_str())
}

/// Whether a name is one of money alone: a discount, a tip, a deposit.
pub(super) fn names_money(name: &str) -> bool {
    let fold = folded(name);
    let of_money = |what: &What| matches!(what, What::Discount | What::Money);
    KINDS.iter().filter(|(what, _)| of_money(what)).any(|(_, words)| {
        words.iter().any(|word| {
            word.len() > 3
                && (fold == *word || fold.starts_with(&format!("{word} ")) || fold.ends_with(&format!(" {word}")))
        })
    })
}

/// How a cell is a word of totals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum TotalWord {
    /// Nothing else.
    Whole,
    /// With more behind it: `Total bar`, which may also be what something is called.
    Begins,
}

/// Whether a cell begins as totals do.
pub(super) fn total_word(cell: &str) -> Option<TotalWord> {
    // A quick look at nearly all names, which begin otherwise.
    if !cell
        .trim_start_matches(|c: char| !c.is_alphanumeric())
        .starts_with(['t', 'T', 's', 'S', 'g', 'G', 'z', 'Z', 'e', 'E', 'i', 'I', 'd', 'D', 'o', 'O'])
    {
        return None;
    }
    let fold = folded(cell);
    if TOTALS.contains(&fold.as_str()) {
        return Some(TotalWord::Whole);
    }
    TOTALS
        .iter()
        .any(|word| fold.strip_prefix(word).is_some_and(|rest| rest.starts_with(' ')))
        .then_some(TotalWord::Begins)
}

/// Words by which a line of a page says when it was printed, and not of when it speaks.
const PRINTED: &[&str] = &[
    "printed",
    "print",
    "created",
    "generated",
    "exported",
    "export",
    "run",
    "gedruckt",
    "druck",
    "erstellt",
    "ausgedruckt",
    "imprime",
    "edite",
    "cree",
    "genere",
    "impreso",
    "creado",
    "generado",
    "stampato",
    "creato",
    "generato",
    "impresso",
    "criado",
    "gerado",
    "udskrevet",
    "skrevet",
    "utskrevet",
    "opprettet",
    "utskrivet",
    "skapad",
    "afgedrukt",
    "gemaakt",
];

/// Whether a line says when it was printed.
pub(super) fn printed(line: &str) -> bool {
    folded(line).split(' ').any(|word| PRINTED.contains(&word))
}

/// Words that a page has above its table and that are no name of a place.
const TITLES: &[&str] = &[
    "report",
    "sales",
    "bericht",
    "umsatz",
    "verkauf",
    "verkaufe",
    "artikel",
    "rapport",
    "ventes",
    "informe",
    "ventas",
    "vendite",
    "relatorio",
    "vendas",
    "salg",
    "salgsrapport",
    "forsaljning",
    "verkoop",
    "overzicht",
    "omzet",
    "date",
    "datum",
    "fecha",
    "data",
    "dato",
    "page",
    "seite",
    "pagina",
    "side",
    "sida",
    "period",
    "zeitraum",
    "periode",
    "periodo",
    "from",
    "von",
    "du",
    "del",
    "dal",
    "sep",
    "currency",
    "tax",
    "vat",
    "till",
    "kasse",
    "caisse",
    "caja",
    "cassa",
    "register",
    "z",
];

/// Whether a line names something other than the report itself.
pub(super) fn names_a_place(line: &str) -> bool {
    let fold = folded(line);
    fold.chars().any(char::is_alphabetic) && !fold.split(' ').any(|word| TITLES.contains(&word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_stands_as_it_is_compared() {
        let kinds = KINDS.iter().flat_map(|(_, words)| words.iter());
        for word in TOTALS.iter().chain(kinds).chain(YES).chain(NO).chain(PRINTED).chain(TITLES) {
            assert_eq!(folded(word), *word);
        }
        for word in TOTALS {
            assert!(total_word(word).is_some(), "{word}");
        }
    }

    #[test]
    fn kinds_are_read() {
        for (cell, head, want) in [
            ("", "Type", Some(What::Kind(SaleKind::Sale))),
            ("Storno", "Art", Some(What::Kind(SaleKind::Void))),
            ("VOID ITEM", "Type", Some(What::Kind(SaleKind::Void))),
            ("yes", "Voided", Some(What::Kind(SaleKind::Void))),
            ("0", "Training", Some(What::Kind(SaleKind::Sale))),
            ("Remboursé", "Statut", Some(What::Kind(SaleKind::Return))),
            ("dine-in", "Type", None),
            ("ja", "Typ", None),
            ("Rabatt", "Art", Some(What::Discount)),
        ] {
            assert_eq!(what(cell, head), want, "{cell}");
        }
        assert!(names_money("Service charge 10 %") && names_money("Rabatt") && !names_money("Gin & Tonic"));
        assert_eq!(total_word("TOTAL:"), Some(TotalWord::Whole));
        assert_eq!(total_word("Total Eclipse"), Some(TotalWord::Begins));
        assert_eq!(total_word("Totality"), None);
        assert_eq!(total_word("Negroni"), None);
    }
}
