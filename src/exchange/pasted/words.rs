//! What stands over the columns of such lists, and what sorts of things are called, in ten languages: English, German, French,
//! Spanish, Italian, Portuguese, Danish, Norwegian, Swedish, Dutch. The words are common practice; there is no standard of them.

use crate::domain::rows::ListColumn;
use crate::domain::till::folded;
use crate::domain::venue::Kind;

/// Words by column, as [`folded`] leaves them.
const HEADS: &[(ListColumn, &str)] = &[
    (
        ListColumn::Name,
        "name, item, item name, product, product name, bottle, article, description, ingredient, spirit, brand, label, \
         artikel, artikelname, bezeichnung, produkt, flasche, getrank, nom, produit, article, designation, bouteille, \
         nombre, producto, articulo, botella, descripcion, prodotto, articolo, nome, bottiglia, descrizione, produto, \
         artigo, garrafa, descricao, navn, vare, varenavn, flaske, namn, vara, flaska, naam, fles, omschrijving",
    ),
    (
        ListColumn::Kind,
        "kind, type, category, group, class, sort, section, family, art, kategorie, gruppe, warengruppe, typ, sorte, \
         genre, categorie, famille, tipo, categoria, grupo, familia, gruppo, famiglia, kategori, gruppe, varegruppe, \
         varugrupp, soort, groep",
    ),
    (
        ListColumn::Size,
        "size, bottle size, volume, content, contents, holds, one holds, capacity, format, unit size, ml, cl, l, litre, \
         litres, liter, liters, grosse, inhalt, flaschengrosse, menge, gebinde, contenance, taille, contenu, litrage, \
         tamano, contenido, capacidad, formato, capacita, contenuto, capacidade, conteudo, storrelse, indhold, innhold, \
         storlek, innehall, inhoud, maat",
    ),
    (
        ListColumn::Strength,
        "abv, alc, alcohol, percent, percent vol, vol percent, strength, abv percent, alc percent, alc vol, percent abv, \
         proof, alkohol, alkoholgehalt, prozent, starke, alcool, degre, degres, titre, grado, graduacion, gradazione, \
         grado alcolico, teor alcoolico, styrke, alkoholprocent, alkoholprosent, alkoholhalt, sterkte",
    ),
    (
        ListColumn::Place,
        "place, location, stands in, where, shelf, storage, area, room, ort, platz, lagerort, regal, standort, lieu, \
         emplacement, endroit, rayon, lugar, ubicacion, sitio, estante, luogo, posto, posizione, scaffale, local, \
         prateleira, localizacao, sted, plads, plass, hylde, hylle, plats, plaats, plek, schap",
    ),
    (
        ListColumn::Par,
        "par, par level, par stock, target, target stock, minimum stock, min stock, ideal stock, sollbestand, soll, \
         mindestbestand, stock cible, stock minimum, stock ideal, stock objetivo, stock minimo, scorta minima, \
         scorta ideale, stock ideal, bestand soll, minimumslager, minimilager, minimumvoorraad, doelvoorraad",
    ),
    (
        ListColumn::BarCode,
        "barcode, bar code, bar codes, barcodes, ean, gtin, upc, ean code, strichcode, code barres, code barre, \
         codigo de barras, codice a barre, stregkode, strekkode, streckkod, streepjescode",
    ),
    (
        ListColumn::Supplier,
        "supplier, vendor, distributor, bought from, from, merchant, wholesaler, lieferant, handler, fournisseur, \
         proveedor, distribuidor, fornitore, distributore, fornecedor, leverandor, leverantor, leverancier",
    ),
    (
        ListColumn::Pack,
        "pack, pack size, case, case size, per case, per pack, units per case, bottles per case, in packs of, case of, \
         karton, kiste, ve, verpackungseinheit, stuck pro karton, colis, carton, par carton, pcb, conditionnement, caja, \
         unidades por caja, por caja, cartone, per cartone, pezzi per cartone, caixa, por caixa, kasse, kolli, pr kasse, \
         lada, per lada, doos, per doos",
    ),
    (
        ListColumn::PackPrice,
        "case price, pack price, price of a pack, price per case, price per pack, case cost, cost per case, kartonpreis, \
         preis pro karton, prix carton, prix du carton, precio caja, precio por caja, prezzo cartone, preco caixa, \
         preco por caixa, kassepris, pris pr kasse, pris per lada, prijs per doos, doosprijs",
    ),
    (
        ListColumn::OnePrice,
        "price, cost, unit price, unit cost, bottle price, bottle cost, price per bottle, cost per bottle, price of one, \
         cost price, net price, buying price, purchase price, last price, preis, einkaufspreis, ek, ek preis, nettopreis, \
         stuckpreis, einzelpreis, prix, prix d achat, prix unitaire, pu, precio, coste, precio de compra, precio unitario, \
         prezzo, costo, prezzo di acquisto, prezzo unitario, preco, custo, preco de custo, preco unitario, pris, kostpris, \
         innkjopspris, indkobspris, inkopspris, styckpris, prijs, inkoopprijs, stukprijs",
    ),
    (
        ListColumn::TheirNumber,
        "code, sku, item code, item no, item number, product code, article no, article number, supplier code, order code, \
         their number, ref, reference, artikelnummer, artikelnr, artnr, bestellnummer, reference fournisseur, codigo, \
         codigo proveedor, codice, codice fornitore, codice articolo, referencia, varenummer, varenr, artikelnummer",
    ),
];

/// What sorts of things are called, besides the words of the book.
const KINDS: &[(Kind, &str)] = &[
    (
        Kind::Spirit,
        "spirits, gin, gins, rum, rums, rhum, ron, vodka, vodkas, whisky, whiskies, whiskey, whiskeys, bourbon, rye, scotch, \
         tequila, mezcal, agave, brandy, cognac, armagnac, pisco, cachaca, grappa, eau de vie, absinthe, aquavit, akvavit, \
         genever, spirituosen, spiritueux, espirituosas, destilados, distillati, alcolici, spiritus, sprit, starkol, sterk, \
         gedistilleerd, korn, obstler",
    ),
    (
        Kind::Liqueur,
        "liqueurs, likor, likore, licor, licores, liquore, liquori, likor, amaro, amari, aperitif, aperitivo, bitter, \
         bitters, cordials, creme, digestif, liqueur and bitters",
    ),
    (
        Kind::Wine,
        "wines, wein, weine, vin, vins, vino, vini, vinho, vinhos, vine, viner, wijn, wijnen, vermouth, vermouths, wermut, \
         sherry, port, champagne, sparkling, sekt, prosecco, cava, fortified, fortified wine, sake, madeira, red wine, \
         white wine, rose",
    ),
    (
        Kind::Beer,
        "beers, bier, biere, bieres, cerveza, cervezas, birra, birre, cerveja, cervejas, ol, bier fass, draught, lager, ale, \
         cider, keg, kegs",
    ),
    (
        Kind::Mixer,
        "mixers, soft drink, soft drinks, softs, soda, sodas, tonic, tonics, water, lemonade, alkoholfrei, softdrinks, filler, \
         refrescos, bibite, refrigerantes, sodavand, mineralvann, lask, frisdrank, mixer and soft drinks, energy drink",
    ),
    (
        Kind::Juice,
        "juices, saft, safte, jus, zumo, zumos, succo, succhi, sumo, sumos, juicer, sap, sappen, puree, purees",
    ),
    (
        Kind::HouseMade,
        "house made, housemade, homemade, home made, syrup, syrups, in house, prep, hausgemacht, maison, casero, fatto in casa, \
         caseiro, hjemmelavet, hjemmelaget, hemgjord, huisgemaakt, sirup, sirop",
    ),
    (
        Kind::Food,
        "foods, fruit, fruits, garnish, garnishes, dairy, egg, eggs, herbs, snack, snacks, dry goods, grocery, groceries, \
         lebensmittel, obst, fruchte, garnitur, aliments, alimentos, frutas, alimentari, frutta, mad, mat, eten, etenswaren",
    ),
];

/// The words of a list that say one thing.
fn among(words: &str, wanted: &str) -> bool {
    words.split(',').any(|word| word.trim() == wanted)
}

/// What a head says, and the unit that it names for what stands below: `Size (cl)`.
pub(super) fn head(text: &str) -> Option<(ListColumn, Option<&'static str>)> {
    let head = folded(text);
    let unit = ["ml", "cl", "l"].into_iter().find(|unit| head.split(' ').any(|word| word == *unit));
    let of = |head: &str| HEADS.iter().find(|(_, words)| among(words, head)).map(|(column, _)| *column);
    // What stands in brackets, or names a coin, says nothing more.
    let bare: Vec<&str> = head
        .split(' ')
        .filter(|word| !matches!(*word, "ml" | "cl" | "eur" | "usd" | "gbp" | "net" | "netto" | "ex" | "excl" | "vat"))
        .collect();
    of(&head).or_else(|| of(&bare.join(" "))).or_else(|| price(&head)).map(|column| (column, unit))
}

/// What a head with a word for a price in it says: of one, or of a pack.
fn price(head: &str) -> Option<ListColumn> {
    let has = |words: &str| head.split(' ').any(|word| among(words, word));
    let packs = "case, pack, box, carton, karton, kiste, caja, colis, cartone, caixa, kasse, lada, doos, ve";
    if !has("price, cost, preis, prix, precio, coste, prezzo, costo, preco, custo, pris, prijs") {
        return None;
    }
    Some(if has(packs) { ListColumn::PackPrice } else { ListColumn::OnePrice })
}

/// What sort of thing a text names.
pub(super) fn kind(text: &str) -> Option<Kind> {
    if let Ok(kind) = Kind::parse(text.trim()) {
        return Some(kind);
    }
    let word = folded(text);
    KINDS.iter().find(|(_, words)| among(words, &word)).map(|(kind, _)| *kind)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_is_as_texts_are_folded_and_says_one_thing() {
        let mut met = std::collections::HashMap::new();
        for (column, words) in HEADS {
            for word in words.split(',').map(str::trim) {
                assert_eq!(folded(word), word, "{column}");
                let before = met.insert(word, *column);
                assert!(before.is_none_or(|before| before == *column), "{word}: {column} and {before:?}");
            }
        }
        let mut met = std::collections::HashMap::new();
        for (kind, words) in KINDS {
            for word in words.split(',').map(str::trim) {
                assert_eq!(folded(word), word, "{kind}");
                let before = met.insert(word, *kind);
                assert!(before.is_none_or(|before| before == *kind), "{word}: {kind} and {before:?}");
            }
        }
    }

    #[test]
    fn heads_and_kinds() {
        assert_eq!(head("Bottle size (cl)"), Some((ListColumn::Size, Some("cl"))));
        assert_eq!(head("Price EUR"), Some((ListColumn::OnePrice, None)));
        assert_eq!(head("% vol."), Some((ListColumn::Strength, None)));
        assert_eq!(head("Größe"), Some((ListColumn::Size, None)));
        assert_eq!(head("Thoughts"), None);
        assert_eq!(
            (kind("GIN"), kind("house-made"), kind("Liköre")),
            (Some(Kind::Spirit), Some(Kind::HouseMade), Some(Kind::Liqueur))
        );
        assert_eq!(kind("Harbour gin"), None);
    }
}
