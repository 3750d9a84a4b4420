//! What the heads of columns mean, in the words of the trade in ten languages: English, German, French, Spanish, Italian,
//! Portuguese, Danish, Norwegian, Swedish, Dutch. The words are common practice; there is no standard of them.

use crate::domain::till::{Field, folded};
use std::collections::HashMap;
use std::sync::LazyLock;

/// What a head may say. Two of them leave something open that the cells must tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Sense {
    /// Just that.
    Is(Field),
    /// Money, with or without tax.
    Amount,
    /// Money for one, or for the line.
    Price,
    /// What one costs.
    Each,
    /// Which of several of the same name: a size, a variant.
    Variant,
    /// The coin.
    Coin,
    /// Nothing of use.
    Other,
}

/// Words by sense: English ones, then those of other languages, both as [`folded`] leaves them.
const HEADS: &[(Sense, &str, &str)] = &[
    (
        Sense::Is(Field::Date),
        "date, day, transaction date, sale date, sales date, order date, receipt date, calendar date",
        "datum, tag, belegdatum, bondatum, verkaufsdatum, rechnungsdatum, kassendatum, jour, date de vente, date vente, \
         fecha, fecha de venta, fecha venta, dia, data, data vendita, data di vendita, giorno, data da venda, data venda, \
         dato, salgsdato, dag, forsaljningsdatum, kvittodatum, verkoopdatum",
    ),
    (
        Sense::Is(Field::Day),
        "business date, business day, trading day, trading date, fiscal day, fiscal date",
        "geschaftstag, buchungstag, kassentag, betriebstag, verkaufstag, jour comptable, journee comptable, \
         journee d exploitation, journee, dia contable, jornada, giorno contabile, giornata contabile, giornata, \
         dia contabilistico, dia fiscal, forretningsdag, regnskapsdag, kassadag, bokforingsdag, boekingsdag, boekdatum, \
         bedrijfsdag",
    ),
    (
        Sense::Is(Field::Time),
        "time, hour, transaction time, sale time, order time, time of day",
        "zeit, uhrzeit, bonzeit, heure, heure de vente, hora, ora, orario, tid, klokkeslett, klokkeslaet, klockslag, tijd",
    ),
    (
        Sense::Is(Field::DateTime),
        "date time, datetime, date and time, timestamp, time stamp, sold at, closed at, opened at, created at, \
         transaction date time, order date time",
        "zeitpunkt, zeitstempel, datum uhrzeit, datum und uhrzeit, datum zeit, date heure, date et heure, fecha hora, \
         fecha y hora, data ora, data e ora, data hora, data e hora, dato tid, dato og tid, tidspunkt, datum tid, \
         datum och tid, datum tijd, datum en tijd, tijdstip",
    ),
    (
        Sense::Is(Field::Receipt),
        "receipt, receipt no, receipt number, receipt id, check, check no, check number, bill, bill no, bill number, ticket, \
         ticket no, ticket number, order, order no, order number, order id, transaction, transaction no, \
         transaction number, transaction id, invoice, invoice no, invoice number, slip, tab",
        "bon, bon nr, bonnr, bonnummer, beleg, beleg nr, belegnr, belegnummer, rechnung, rechnungs nr, rechnungsnr, \
         rechnungsnummer, vorgang, vorgangsnummer, bestellung, auftrag, no ticket, n ticket, numero ticket, \
         numero de ticket, facture, no facture, recu, addition, commande, n de ticket, factura, recibo, comanda, \
         num ticket, n factura, scontrino, n scontrino, numero scontrino, ricevuta, conto, comanda, fatura, n fatura, \
         talao, pedido, kassenbon, kassenbon nr, kassenbonnr, kvittering, kvitteringsnr, bong, bongnr, bong nr, kvitto, kvittonr, kvittonummer, nota, notanr, \
         nota nr, ordre, ordrenr, ordrenummer, bestelling, kassabon, bonnetje",
    ),
    (
        Sense::Is(Field::Line),
        "line, line no, line number, pos, position, seq, sequence",
        "pos nr, positionsnummer, zeile, zeilennummer, ligne, n ligne, linea, n linea, riga, n riga, linha, linje, linjenr, \
         linjenummer, rad, radnr, regel, regelnr, regelnummer",
    ),
    (
        // Of “Pos”, the cells tell whether it is a point of sale or a position.
        Sense::Is(Field::Register),
        "register, register no, register number, register id, register name, cash register, cash register no, \
         cash register id, till, till no, till number, till id, pos, pos id, pos terminal, pos device, point of sale, terminal, \
         terminal no, terminal number, terminal id, terminal name, cash desk",
        "kasse, kassen nr, kassennr, kassennummer, kassen id, kassenname, kassenplatz, kasse nr, kassenr, kassenummer, kasse id, \
         caisse, n caisse, no caisse, numero caisse, numero de caisse, caja, n caja, num caja, numero de caja, cassa, n cassa, \
         numero cassa, caixa, n caixa, numero da caixa, kassa, kassa nr, kassanr, kassanummer, kassaapparat, kasseapparat, \
         kassaregister, registrierkasse",
    ),
    (
        Sense::Is(Field::Name),
        "item, item name, product, product name, article, article name, description, item description, menu item, \
         menu item name, name, drink, beverage, sold as, title, plu name, dish",
        "artikel, artikelname, artikeltext, artikelbezeichnung, bezeichnung, produkt, produktname, produktbezeichnung, text, \
         getrank, speise, designation, libelle, produit, nom, nom du produit, nom produit, libelle article, articulo, \
         producto, nombre, descripcion, nombre del producto, articolo, prodotto, descrizione, nome, nome prodotto, voce, \
         artigo, produto, descricao, designacao, nome do produto, vare, varenavn, varetekst, beskrivelse, navn, produktnavn, \
         produktnamn, artikelnamn, benamning, vara, varunamn, namn, beskrivning, omschrijving, artikelomschrijving, \
         productnaam, artikelnaam, naam",
    ),
    (
        Sense::Variant,
        "variant, variation, size, modifier, modifiers, portion, serving, measure, price level",
        "variante, grosse, portionsgrosse, einheit, taille, format, tamano, formato, misura, taglia, tamanho, storrelse, \
         variant, storlek, maat, grootte",
    ),
    (
        Sense::Is(Field::Code),
        "code, sku, plu, item code, item no, item number, item id, product id, product code, product no, article no, \
         article number, article code, ean, gtin, barcode, reference, ref",
        "artnr, art nr, artikelnr, artikel nr, artikelnummer, artikelcode, artikel id, code article, code produit, \
         reference article, codigo, cod, codigo articulo, codice, codice articolo, cod articolo, cod artigo, varenr, \
         vare nr, varenummer, varunummer, productcode, productnummer",
    ),
    (
        Sense::Is(Field::Quantity),
        "qty, quantity, qty sold, quantity sold, count, sold, units, units sold, pcs, pieces, items sold, number sold, \
         no sold, sales qty, sales quantity, net qty",
        "menge, anzahl, stk, stuck, stuckzahl, verkauft, verkaufte menge, verkaufsmenge, absatz, quantite, qte, nb, \
         nombre vendu, vendus, quantites vendues, quantite vendue, qte vendue, cantidad, cant, unidades, uds, vendidos, \
         cantidad vendida, quantita, qta, q ta, pezzi, venduti, quantita venduta, quantidade, qtd, qtde, quant, \
         quantidade vendida, antal, antall, solgt, antal solgt, antall solgt, mangde, salda, antal salda, aantal, \
         hoeveelheid, verkocht, aantal verkocht",
    ),
    (
        Sense::Is(Field::Net),
        "net, net sales, net amount, net total, net revenue, net value, sales net, amount net, total net, excl tax, excl vat, \
         ex vat, ex tax, excluding tax, without tax, before tax, exclusive tax",
        "netto, nettobetrag, nettoumsatz, umsatz netto, betrag netto, netto umsatz, netto betrag, ohne mwst, exkl mwst, ht, \
         h t, total ht, montant ht, ca ht, hors taxe, hors taxes, neto, importe neto, total neto, base imponible, \
         sin iva, sin impuestos, imponibile, importo netto, totale netto, netto iva, senza iva, liquido, valor liquido, \
         total liquido, sem iva, ekskl moms, excl moms, eks moms, eks mva, ekskl mva, exkl moms, ex moms, ex mva, \
         nettobelob, netto belob, nettobelop, netto belop, nettosalg, nettoomsetning, nettobelopp, netto belopp, \
         nettoforsaljning, nettoomzet, netto omzet, excl btw, exclusief btw, ex btw, zonder btw",
    ),
    (
        Sense::Is(Field::Gross),
        "gross, gross sales, gross amount, gross total, sales gross, incl tax, incl vat, inc vat, inc tax, including tax, \
         including vat, with tax, with vat",
        "brutto, bruttobetrag, bruttoumsatz, umsatz brutto, betrag brutto, brutto umsatz, inkl mwst, mit mwst, ttc, t t c, \
         total ttc, montant ttc, ca ttc, toutes taxes comprises, bruto, importe bruto, con iva, iva incluido, iva incl, \
         total con iva, con impuestos, lordo, importo lordo, totale lordo, iva inclusa, iva compresa, ivato, com iva, \
         total com iva, valor com iva, inkl moms, incl moms, inkl mva, bruttobelob, bruttobelop, bruttobelopp, bruttosalg, \
         bruttoomsetning, incl btw, inclusief btw, met btw, bruto omzet",
    ),
    (
        Sense::Amount,
        "amount, total, sales, revenue, line total, value, turnover, total sales, sales amount, total amount, takings",
        "betrag, umsatz, gesamt, gesamtpreis, gesamtbetrag, summe, erlos, montant, ca, chiffre d affaires, ventes, total ligne, \
         importe, ventas, total linea, facturacion, importo, totale, incasso, ricavo, vendite, valor, vendas, total linha, \
         belob, belop, omsaetning, omsetning, salg, sum, belopp, summa, forsaljning, omsattning, bedrag, omzet, totaal",
    ),
    (Sense::Price, "price", "preis, vk, vk preis, verkaufspreis, prix, precio, prezzo, preco, pris, prijs"),
    (
        Sense::Each,
        "unit price, price each, each, item price, price per unit, avg price, average price, list price",
        "einzelpreis, stuckpreis, e preis, ep, durchschnittspreis, listenpreis, prix unitaire, pu, p u, precio unitario, \
         p unit, prezzo unitario, preco unitario, enhedspris, stykpris, enhetspris, stykkpris, styckpris, a pris, stukprijs, \
         eenheidsprijs",
    ),
    (
        Sense::Is(Field::Tax),
        "tax, vat, gst, tax amount, vat amount, sales tax, taxes",
        "ust, mwst, steuer, steuerbetrag, mwst betrag, ust betrag, tva, montant tva, iva, importe iva, cuota, cuota iva, \
         importo iva, imposta, valor iva, imposto, impuesto, impuestos, moms, momsbelob, momsbelopp, mva, mva belop, \
         skatt, btw, btw bedrag",
    ),
    (
        Sense::Is(Field::TaxRate),
        "tax rate, vat rate, tax percent, vat percent, percent tax, percent vat",
        "steuersatz, mwst satz, ust satz, mwst percent, ust percent, percent mwst, steuer percent, taux tva, taux de tva, \
         tva percent, taux, percent tva, tipo iva, tipo de iva, iva percent, percent iva, aliquota, aliquota iva, taxa iva, \
         taxa de iva, momssats, moms percent, moms pct, mva sats, mva percent, percent mva, skattesats, btw tarief, \
         btw percent, btw percentage, percent btw",
    ),
    (
        Sense::Is(Field::Kind),
        "type, kind, status, transaction type, line type, sale type, entry type, void, voided, cancelled, refund, refunded, \
         training, comp, return",
        "art, typ, vorgangsart, buchungsart, belegart, zeilenart, status, storno, storniert, retoure, type de ligne, statut, \
         nature, annule, annulation, tipo, estado, tipo de linea, anulado, stato, tipo riga, annullato, stornato, \
         tipo de linha, transaktionstype, linjetype, transaktionstyp, annulleret, makulert, makulerad, annullert, soort, \
         geannuleerd, geretourneerd",
    ),
    (Sense::Coin, "currency, currency code", "wahrung, devise, moneda, divisa, valuta, moeda"),
    (
        Sense::Other,
        "category, group, item group, product group, department, family, class, course, menu, section, waiter, server, staff, \
         employee, user, cashier, operator, seller, table, table no, covers, guests, location, \
         store, venue, site, shop, outlet, payment, payment method, payment type, tender, cost, cost of goods, profit, margin, \
         discount, discounts, tip, tips, service charge, share, percent of sales, percent of total, percent, rank, note, \
         notes, comment, comments, remarks, customer, guest, order type, channel, weekday, week, month, year, id",
        "warengruppe, hauptgruppe, untergruppe, gruppe, kategorie, sparte, kellner, bediener, mitarbeiter, verkaufer, tisch, \
         gaste, personen, filiale, standort, zahlungsart, zahlart, wareneinsatz, kosten, gewinn, rohertrag, \
         rabatt, nachlass, trinkgeld, anteil, bemerkung, kunde, wochentag, categorie, famille, groupe, rayon, serveur, \
         vendeur, couverts, mode de paiement, reglement, cout, marge, remise, pourboire, part, remarque, client, \
         categoria, familia, grupo, seccion, camarero, empleado, vendedor, mesa, comensales, personas, forma de pago, \
         coste, margen, descuento, propina, observaciones, cliente, reparto, gruppo, famiglia, cameriere, operatore, tavolo, \
         coperti, pagamento, costo, margine, sconto, mancia, quota, secao, empregado, operador, \
         forma de pagamento, custo, margem, desconto, gorjeta, kategori, varegruppe, afdeling, avdeling, tjener, medarbejder, \
         servitor, bord, betaling, betalingsmate, kost, rabat, drikkepenge, andel, bemerkning, kund, varugrupp, avdelning, \
         personal, betalsatt, dricks, groep, productgroep, hoofdgroep, kelner, medewerker, tafel, betaalwijze, \
         kostprijs, korting, fooi, aandeel, opmerking, klant",
    ),
];

/// One word as it stands in the table.
#[derive(Clone, Copy, Debug)]
struct Entry {
    sense: Sense,
    english: bool,
}

static WORDS: LazyLock<HashMap<&'static str, Vec<Entry>>> = LazyLock::new(|| {
    let mut words: HashMap<&'static str, Vec<Entry>> = HashMap::new();
    for (sense, english, other) in HEADS {
        for (list, english) in [(english, true), (other, false)] {
            for word in list.split(',').map(str::trim) {
                words.entry(word).or_default().push(Entry { sense: *sense, english });
            }
        }
    }
    words
});

/// What a head may mean.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct HeadSense {
    /// Senses with how sure the word alone is of each, 0 to 1.
    pub(super) senses: Vec<(Sense, f64)>,
    /// A word of it is English.
    pub(super) english: bool,
    /// A word of it is of another language and not English too.
    pub(super) foreign: bool,
}

impl HeadSense {
    /// How sure the word is of a sense.
    pub(super) fn of(&self, sense: Sense) -> f64 {
        self.senses.iter().find(|(s, _)| *s == sense).map_or(0.0, |(_, sure)| *sure)
    }

    /// How sure it is of the likeliest.
    pub(super) fn best(&self) -> f64 {
        self.senses.iter().map(|(_, sure)| *sure).fold(0.0, f64::max)
    }

    fn add(&mut self, entries: &[Entry], sure: f64) {
        for entry in entries {
            match self.senses.iter_mut().find(|(s, _)| *s == entry.sense) {
                Some((_, have)) => *have = have.max(sure),
                None => self.senses.push((entry.sense, sure)),
            }
        }
        let english = entries.iter().any(|e| e.english);
        self.english |= english;
        self.foreign |= !english;
    }
}

/// What a head may mean: all of it a known word; a known word in it; or, in languages that write words together, one at
/// its end or beginning.
pub(super) fn sense(head: &str) -> HeadSense {
    let mut out = HeadSense::default();
    // Words that tell apart what a machine writes together: `ItemName`, `item_name`.
    let mut spaced = String::with_capacity(head.len() + 4);
    let mut lower = false;
    for c in head.chars().take(80) {
        if c.is_uppercase() && lower {
            spaced.push(' ');
        }
        lower = c.is_lowercase();
        spaced.push(c);
    }
    for fold in [folded(&head.chars().take(80).collect::<String>()), folded(&spaced)] {
        if fold.is_empty() {
            continue;
        }
        if let Some(entries) = WORDS.get(fold.as_str()) {
            out.add(entries, 1.0);
            return out;
        }
        let tokens: Vec<&str> = fold.split(' ').collect();
        for length in (1..=tokens.len().min(4)).rev() {
            for start in 0..=tokens.len() - length {
                let phrase = tokens[start..start + length].join(" ");
                if let Some(entries) = WORDS.get(phrase.as_str()) {
                    // The longer the part that is known, the surer; `Net (EUR)` is nearly `Net`.
                    out.add(entries, 0.55 + 0.3 * length as f64 / tokens.len() as f64);
                }
            }
        }
        if tokens.len() == 1 && fold.len() >= 6 {
            for (word, entries) in WORDS.iter().filter(|(word, _)| word.len() >= 4) {
                if fold.ends_with(word) {
                    out.add(entries, 0.5);
                } else if fold.starts_with(word) {
                    out.add(entries, 0.3);
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_stands_as_it_is_compared() {
        for (_, english, other) in HEADS {
            for word in english.split(',').chain(other.split(',')).map(str::trim) {
                assert_eq!(folded(word), word);
            }
        }
    }

    #[test]
    fn heads_are_understood() {
        for (head, want) in [
            ("Artikelbezeichnung", Sense::Is(Field::Name)),
            ("Qté", Sense::Is(Field::Quantity)),
            ("MwSt.-Satz", Sense::Is(Field::TaxRate)),
            ("% IVA", Sense::Is(Field::TaxRate)),
            ("Net (EUR)", Sense::Is(Field::Net)),
            ("ItemName", Sense::Is(Field::Name)),
            ("order_id", Sense::Is(Field::Receipt)),
            ("Importe sin IVA", Sense::Is(Field::Net)),
            ("Beløb inkl. moms", Sense::Is(Field::Gross)),
            ("Getränkeumsatz", Sense::Amount),
            ("Warengruppe", Sense::Other),
            ("Einzelpreis brutto", Sense::Each),
        ] {
            let sense = sense(head);
            assert!(sense.of(want) > 0.0, "{head}: {sense:?}");
            assert!(sense.of(want) + 1e-9 >= sense.best() || want == Sense::Each, "{head}: {sense:?}");
        }
        assert!(sense("Bar Anzio").senses.is_empty());
    }
}
