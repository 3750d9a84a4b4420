//! Lists of items out of spreadsheets: pasted or out of a file, whatever stands over their columns, understood before they are
//! kept, and kept whole or not at all. The lists are invented in the forms in which people keep such lists; what each must come
//! to is written beside it by hand.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;
#[path = "support/typing.rs"]
mod typing;

use bar::{AT as NOW, Bar, setup_in};
use proptest::prelude::*;
use tantalus::desk::{self, pasting};
use tantalus::domain::measure::Money;
use tantalus::domain::rows::{ListColumn, ListLook, PastedList, Taken};
use tantalus::domain::venue::{Containers, Kind, name_key};
use tantalus::store::Store;
use typing::{app_of, drawn, press};

/// What the taken lines of a text are understood as.
fn understood(store: &Store, text: &str) -> (PastedList, ListLook) {
    let list = pasting::of_text(store, text).unwrap();
    let look = pasting::look(store, &list, NOW).unwrap();
    (list, look)
}

fn lines(look: &ListLook) -> Vec<String> {
    let said = |line: &tantalus::domain::rows::LineLook| match line.faults.first() {
        Some(fault) => format!("! {}", fault.said),
        None => line.understood.join(", "),
    };
    look.lines.iter().map(said).collect()
}

#[test]
fn lists_as_people_keep_them() {
    let bar = Bar::new();
    let store = bar.book();
    for (text, want) in [
        // Copied out of a spreadsheet: tabs, a title above, sorts as headings, prices of one.
        (
            "Winter list\n\nBottle\tSize\tABV\tWhere\tPar\tSupplier\tPrice per bottle\tCase\nGIN\nHarbour gin\t70cl\t41.5%\tCellar\t3\tQuendelbach\t€15.60\t6\nSloe & co\t0.5\t26\tCellar\t2\tQuendelbach\t18.20\t6\nWINE\nHedge white\t75 cl\t12\tCellar\t12\tQuendelbach\t7.05\t6\n",
            &[
                "",
                "Harbour gin, spirit, 700 ml, 41.5 % vol, in Cellar, par 3, 6 for 93.60 from Quendelbach",
                "Sloe & co, spirit, 500 ml, 26 % vol, in Cellar, par 2, 6 for 109.20 from Quendelbach",
                "",
                "Hedge white, wine, 750 ml, 12 % vol, in Cellar, par 12, 6 for 42.30 from Quendelbach",
            ][..],
        ),
        // German, semicolons, decimal commas.
        (
            "Artikel;Kategorie;Inhalt (l);Alkohol;Lieferant;Kartonpreis;VE\nHafengin;Gin;0,7;41,5;Quendelbach;93,60;6\nHeckentonic;Filler;0,2;;Quendelbach;1.014,40;24\n",
            &[
                "Hafengin, spirit, 700 ml, 41.5 % vol, 6 for 93.60 from Quendelbach",
                "Heckentonic, mixer, 200 ml, 24 for 1014.40 from Quendelbach",
            ],
        ),
        // Names alone, with the sizes in them; a brand's year is none.
        (
            "Harbour gin 70cl\nOld tide rum, 1 l\nHedge tonic 24x200ml\nNumber 7\n",
            &[
                "Harbour gin, spirit, 700 ml",
                "Old tide rum, spirit, 1 l",
                "Hedge tonic, spirit, 200 ml",
                "! expected what one holds, such as 700 ml",
            ],
        ),
        // No heads at all: told by what stands in the cells.
        (
            "Harbour gin\t700\tgin\t5012345678900\t15,60\nHedge ale\t330\tbeer\t\t1,10\n",
            &["Harbour gin, spirit, 700 ml, 5012345678900", "Hedge ale, beer, 330 ml"],
        ),
        // A name alone is enough, and what one holds is the usual of its kind.
        ("Name\nHarbour gin\nOld tide\n", &["Harbour gin, spirit, 700 ml", "Old tide, spirit, 700 ml"]),
        // Strengths as shares, as a spreadsheet holds percent.
        (
            "name,size,abv\nHarbour gin,700,0.415\nSloe,500,0.26\n",
            &["Harbour gin, spirit, 700 ml, 41.5 % vol", "Sloe, spirit, 500 ml, 26 % vol"],
        ),
        // A case in the cell of the size; an item of the book keeps what the list does not say.
        (
            "produit\tcontenance\tprix du carton\tfournisseur\nGIN\t6x70cl\t61,00\tQuendelbach\n",
            &["Gin, spirit, 700 ml, 6 for 61.00 from Quendelbach"],
        ),
    ] {
        let (_, look) = understood(&store, text);
        assert_eq!(lines(&look), want, "{text}");
    }
}

#[test]
fn what_cannot_be_is_told_at_its_line_and_nothing_is_kept() {
    let bar = Bar::with(&[("counts.csv", "count,at,place,item,full,open\nOne,2026-11-10 03:00,Cellar,Gin,2,.4\n")]);
    let store = bar.book();
    let head = "name\tkind\tsize\tabv\tplace\tpar\tbarcode\tsupplier\tpack\tprice";
    for (line, column, says) in [
        ("\tgin\t70cl", ListColumn::Name, "expected a name"),
        ("New\telixir\t70cl", ListColumn::Kind, "expected spirit"),
        ("New\tgin\tbig", ListColumn::Size, "expected what one holds"),
        ("New\tgin\t70cl\t140", ListColumn::Strength, "expected"),
        ("New\tgin\t70cl\tstrong", ListColumn::Strength, "expected a strength"),
        ("New\tgin\t70cl\t\tCellat", ListColumn::Place, "did you mean “Cellar”"),
        ("New\tgin\t70cl\t\t\tmany", ListColumn::Par, "expected a number of containers"),
        ("New\tgin\t70cl\t\t\t\t5012345678901", ListColumn::BarCode, "digit"),
        ("New\tgin\t70cl\t\t\t\t5.01235E+12", ListColumn::BarCode, "has rounded this bar code"),
        ("New\tgin\t70cl\t\t\t\t\tQuendelbech\t6\t9.00", ListColumn::Supplier, "did you mean “Quendelbach”"),
        ("New\tgin\t70cl\t\t\t\t\tQuendelbach\tno\t9.00", ListColumn::Pack, "how many containers"),
        ("New\tgin\t70cl\t\t\t\t\tQuendelbach\t6\t$9.00", ListColumn::OnePrice, "keeps its prices in EUR"),
        ("New\tgin\t70cl\t\t\t\t\tQuendelbach\t6\t-9.00", ListColumn::OnePrice, "expected"),
        ("Gin\tgin\t1 l", ListColumn::Size, "was counted or moved in containers of 700 ml"),
    ] {
        let text = format!("{head}\nGood one\tgin\t70cl\t40\tCellar\t2\t\tQuendelbach\t6\t10.50\n{line}\n");
        let (list, look) = understood(&store, &text);
        let fault = look.lines[1].faults.first().unwrap_or_else(|| panic!("{line}: {look:?}"));
        assert!(fault.said.contains(says), "{line}: {fault:?}");
        assert_eq!(fault.column, list.at(column), "{line}");
        let refused = pasting::take(&store, &list, NOW).unwrap().unwrap_err();
        assert_eq!(refused, look, "{line}");
        assert_eq!(setup_in(&store).items.len(), 2, "{line}");
    }
    // The same name twice, and a figure that may be one or the other.
    let (_, look) = understood(&store, "name\tsize\tpar\nNew\t70cl\t1\nNEW\t70cl\t1\nOther\t70cl\t1,234\n");
    assert_eq!(
        lines(&look)[1..],
        [
            "! the same name as on line 1; expected it once",
            "! this may be 1234 or 1.234: write one figure of the list with two decimals"
        ]
    );
    for (text, why) in [("", "no list"), (" \n\t\n", "no list"), (&"x\n".repeat(3_000), "at most 2000 lines")] {
        let refused = pasting::of_text(&store, text).unwrap_err().to_string();
        assert!(refused.contains(why), "{text:.20}: {refused}");
    }
    let wide = vec!["a"; 60].join("\t");
    assert!(pasting::of_text(&store, &wide).unwrap_err().to_string().contains("at most 40 columns"));
}

#[test]
fn what_was_shown_is_what_is_kept() {
    let bar = Bar::new();
    let store = bar.book();
    let text = "Bottle\tSort\tSize\tLocation\tPar\tDistributor\tCase price\tCase\tCode\nHarbour gin\tgin\t70 cl\tBack bar, Cellar\t2,5\tNorthgate\t93,60\t6\tNG-1\nGin\tgin\t\tCellar\t4\tQuendelbach\t66,00\t6\t21010\nTonic\tmixer\t\t\t\tQuendelbach\t14,40\t24\t11020\n";
    let (mut list, look) = understood(&store, text);
    assert_eq!(look.wrong(), 0, "{look:?}");
    assert_eq!((look.new, look.changed, look.already), (1, 1, 1), "{look:?}");
    assert!(look.said.iter().any(|said| said == "2 prices"), "{:?}", look.said);
    // A line that is left out is not taken.
    list.lines[1].taken = Taken::No;
    let look = pasting::look(&store, &list, NOW).unwrap();
    assert_eq!((look.new, look.changed, look.already), (1, 0, 1));
    list.lines[1].taken = Taken::Yes;
    pasting::take(&store, &list, NOW).unwrap().unwrap();
    let setup = setup_in(&store);
    let item = |name: &str| setup.items.iter().find(|item| name_key(&item.name) == name_key(name)).unwrap();
    let harbour = item("Harbour gin");
    assert_eq!((harbour.kind, harbour.size.0, harbour.par), (Kind::Spirit, 700_000, Some(Containers(2_500))));
    let places: Vec<&str> = setup.places_of(harbour.id).map(|place| setup.place_name(place)).collect();
    assert_eq!(places, ["Cellar", "Back bar"]);
    let today = setup.venue.days.day_of(NOW);
    let price = |name: &str, day| setup.cheapest_offer(item(name).id, day).map(|offer| offer.price);
    assert_eq!(price("Harbour gin", today.pred_opt().unwrap()), Some(Money(9_360)), "a new item's price is since ever");
    assert_eq!(
        (price("Gin", today), price("Gin", today.pred_opt().unwrap())),
        (Some(Money(6_600)), Some(Money(6_000)))
    );
    assert_eq!(item("Gin").par, Some(Containers(4_000)));
    // What the list does not say stays: the tonic has its size, and no price anew.
    assert_eq!(
        (item("Tonic").size.0, setup.offers.iter().filter(|offer| offer.item == item("Tonic").id).count()),
        (200_000, 1)
    );
    // Once more, nothing is new.
    let (_, again) = understood(&store, text);
    assert_eq!((again.new, again.changed, again.already), (0, 0, 3));
    // All of it is one act.
    let act = desk::history::view(&store, None, 1).unwrap().acts[0].act.id;
    desk::undoing::undo(&store, act, NOW).unwrap();
    assert_eq!(setup_in(&store).items.len(), 2);
    assert_eq!(desk::check::check(&store).unwrap(), []);
}

/// A price without anybody who asks it is left out and said; all of it can be said to come from one.
#[test]
fn a_price_list_of_one_supplier() {
    let bar = Bar::new();
    let store = bar.book();
    let (mut list, look) = understood(&store, "name\tsize\tprice\nHarbour gin\t70cl\t15.60\nOld tide\t70cl\t21.00\n");
    assert!(look.said.iter().any(|said| said.contains("2 prices are left out")), "{:?}", look.said);
    list.supplier = Some("Quendelbach".to_owned());
    list.place = Some("Cellar".to_owned());
    list.kind = Kind::Liqueur;
    let look = pasting::look(&store, &list, NOW).unwrap();
    assert_eq!(lines(&look)[0], "Harbour gin, liqueur, 700 ml, in Cellar, 1 for 15.60 from Quendelbach");
    // Columns can be said otherwise.
    list.set(2, ListColumn::Par);
    let look = pasting::look(&store, &list, NOW).unwrap();
    assert_eq!(lines(&look)[0], "Harbour gin, liqueur, 700 ml, in Cellar, par 15.6");
    // A line that was taken for the heads is one of the list, and the other way.
    let bare = pasting::under(&store, &list, None).unwrap();
    assert_eq!((bare.lines.len(), bare.heads), (3, None));
    let under = pasting::under(&store, &list, Some(1)).unwrap();
    assert_eq!((under.lines.len(), under.heads.map(|heads| heads[0].clone()).as_deref()), (1, Some("Harbour gin")));
}

/// A file that a spreadsheet wrote, in whatever encoding.
#[test]
fn out_of_a_file() {
    let bar = Bar::new();
    let store = bar.book();
    let path = bar.0.path().join("list.csv");
    // Windows-1252, as older spreadsheets write it.
    std::fs::write(&path, b"Artikel;Gr\xf6\xdfe\r\nR\xe9mi brut;0,75\r\n").unwrap();
    let list = pasting::of_file(&store, &path).unwrap();
    let look = pasting::look(&store, &list, NOW).unwrap();
    assert_eq!(lines(&look), ["Rémi brut, spirit, 750 ml"]);
    std::fs::write(&path, b"PK\x03\x04 no text").unwrap();
    assert!(pasting::of_file(&store, &path).unwrap_err().to_string().contains("no text"));
}

/// As somebody does it on the screen: paste, look, mend what is not right, take in.
#[test]
fn a_pasted_block_on_the_screen() {
    let bar = Bar::new();
    let mut app = app_of(&bar.0.path().join("bar.tantalus"), None, NOW);
    press(&mut app, "S", NOW);
    let block = "Bottle\tSize\tPar\nHarbour gin\t70cl\t3\nOld tide\tbig\t2\nTotal\t\t5\n";
    app.paste(block, NOW);
    let shown = drawn(&mut app, NOW);
    assert!(shown.contains("3 lines are items, 2 of them not right"), "{shown}");
    assert!(shown.contains("Harbour gin, spirit, 700 ml, par 3"), "{shown}");
    // Nothing is taken while something is not right, and one is led to it.
    let refused = press(&mut app, "x", NOW);
    assert!(refused.contains("2 lines are not right") && refused.contains("pasted: Old tide | big | 2"), "{refused}");
    // What is wrong is mended where it stands, the cursor in the cell that is.
    let cell = press(&mut app, "\n", NOW);
    assert!(cell.contains("> one holds") && cell.contains("big"), "{cell}");
    let dropped = press(&mut app, "1 l\u{1b}", NOW);
    assert!(dropped.contains("pasted: Old tide | big | 2"), "{dropped}");
    let mended = press(&mut app, "\n1 l\n", NOW);
    assert!(mended.contains("Old tide, spirit, 1 l, par 2") && mended.contains("1 of them not right"), "{mended}");
    press(&mut app, "\n\tx\u{1b}", NOW);
    // One that is left out still says what it is.
    let left = press(&mut app, "f ", NOW);
    assert!(left.contains("2 lines are items") && left.contains("left out: Total"), "{left}");
    // Pasted once more by mistake, it is not typed as commands.
    app.paste(block, NOW);
    let taken = press(&mut app, "x", NOW);
    assert!(taken.contains("taken in: 2 new items") && taken.contains("Harbour gin"), "{taken}");
    // One line of text is no list.
    // On any screen where nothing is typed, and where a file is asked for: rows of cells are a list.
    // A terminal hands line breaks on as they are, or as carriage returns.
    for (keys, block) in [("V", block), ("Sf", block), ("L", &block.replace('\n', "\r"))] {
        press(&mut app, keys, NOW);
        app.paste(block, NOW);
        let shown = drawn(&mut app, NOW);
        assert!(shown.contains("What the columns are") && shown.contains("in the book already"), "{keys}: {shown}");
        press(&mut app, "\u{1b}", NOW);
    }
    press(&mut app, "S", NOW);
    app.paste("Harbour gin", NOW);
    assert!(!drawn(&mut app, NOW).contains("lines are items"));
    app.paste("\n\n", NOW);
    assert!(drawn(&mut app, NOW).contains("Harbour gin"));
}

fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        "[A-Za-z]{1,12}( [a-z]{1,8})?",
        (1_u32..2_000).prop_map(|n| n.to_string()),
        (0_u32..10_000).prop_map(|n| format!("{},{:02} €", n / 100, n % 100)),
        Just("70 cl".to_owned()),
        Just("Gin".to_owned()),
        Just("=1+1".to_owned()),
        "\\PC{0,12}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Whatever is pasted: it is refused or understood, what is said of it is what comes of it, and the book is sound.
    #[test]
    fn any_block_is_taken_as_it_was_told_or_not_at_all(
        rows in prop::collection::vec(prop::collection::vec(cell(), 1..6), 1..8),
        apart in prop_oneof![Just("\t"), Just(";"), Just(",")],
        meant in prop::collection::vec(0_usize..13, 6),
    ) {
        let bar = Bar::new();
        let store = bar.book();
        let text = rows.iter().map(|row| row.join(apart)).collect::<Vec<_>>().join("\n");
        let Ok(mut list) = pasting::of_text(&store, &text) else { return Ok(()) };
        for (n, meant) in meant.iter().enumerate().take(list.columns.len()) {
            if *meant > 0 {
                list.set(n, ListColumn::ALL[*meant % ListColumn::ALL.len()]);
            }
        }
        let look = pasting::look(&store, &list, NOW).unwrap();
        let before = setup_in(&store).items.len();
        match pasting::take(&store, &list, NOW).unwrap() {
            Ok(took) => {
                prop_assert_eq!(&took, &look);
                prop_assert_eq!(setup_in(&store).items.len(), before + usize::try_from(took.new).unwrap());
                prop_assert_eq!(desk::check::check(&store).unwrap(), vec![]);
            }
            Err(refused) => {
                prop_assert_eq!(refused, look);
                prop_assert_eq!(setup_in(&store).items.len(), before);
            }
        }
    }
}
