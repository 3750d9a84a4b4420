//! XML as invoices need it: decoded by what it says of itself, parsed without any document type, found by namespace and
//! local name, its text tamed.

use crate::domain::measure::{Decimal, DecimalError};
use crate::exchange::plain::{legible, tamed};
use chrono::NaiveDate;
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};
use roxmltree::{Document, Node, ParsingOptions};
use std::borrow::Cow;

/// More elements, texts and comments than any bill has: 10 000 lines have about half a million.
const MOST_NODES: u32 = 1_000_000;
/// Elements within elements; UBL's own are at most about a dozen deep.
const DEEPEST: usize = 64;
/// Attributes of one element; bills have two or three, the root its namespaces.
const MOST_ATTRIBUTES: usize = 100;
/// Namespaces in force at once, those declared again counted again; bills have about ten.
const MOST_NAMESPACES: usize = 100;
/// Namespaces in force, added up over all elements that declare any: ten thousand lines whose every element declares its
/// own have about two million.
const MOST_LISTED: usize = 5_000_000;

/// Why a document was refused: the place in it and the reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Refusal {
    pub(super) at: Option<String>,
    pub(super) what: String,
}

impl Refusal {
    pub(super) fn new(what: impl Into<String>) -> Refusal {
        Refusal { at: None, what: what.into() }
    }
}

/// A stranger's word in a sentence: made safe and cut.
pub(super) fn shown(text: &str) -> String {
    let tame = legible(text);
    if tame.chars().count() <= 60 { tame } else { tame.chars().take(59).chain(['…']).collect() }
}

/// The text of a file: by its byte order mark, else by the encoding that its declaration names, else UTF-8.
pub(super) fn decoded(bytes: &[u8]) -> Result<Cow<'_, str>, Refusal> {
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(Refusal::new(word!("is empty; expected an invoice")));
    }
    let (encoding, skip) = match Encoding::for_bom(bytes) {
        Some((encoding, length)) => (encoding, length),
        None => (declared(bytes)?, 0),
    };
    encoding.decode_without_bom_handling_and_without_replacement(&bytes[skip..]).ok_or_else(|| {
        Refusal::new(say!(
            "holds bytes that are not {encoding}; it is damaged, or says a wrong encoding",
            encoding = encoding.name()
        ))
    })
}

fn declared(bytes: &[u8]) -> Result<&'static Encoding, Refusal> {
    match bytes {
        [0x3C, 0, ..] => return Ok(UTF_16LE),
        [0, 0x3C, ..] => return Ok(UTF_16BE),
        _ => {}
    }
    let head = &bytes[..bytes.len().min(200)];
    let head: String = head.iter().map(|byte| char::from(*byte)).collect();
    let declaration = head.strip_prefix("<?xml").and_then(|rest| rest.split_once("?>")).map(|(inside, _)| inside);
    let Some((_, after)) = declaration.and_then(|inside| inside.split_once("encoding")) else { return Ok(UTF_8) };
    let after = after.trim_start().trim_start_matches('=').trim_start();
    let quote = after.chars().next().filter(|c| matches!(c, '"' | '\'')).unwrap_or('"');
    let name = after.trim_start_matches(quote).split(quote).next().unwrap_or_default();
    match Encoding::for_label_no_replacement(name.as_bytes()) {
        // Written as single bytes it is not UTF-16, whatever it says.
        Some(encoding) if encoding == UTF_16LE || encoding == UTF_16BE => Ok(UTF_8),
        Some(encoding) => Ok(encoding),
        None => {
            Err(Refusal::new(say!("says that its encoding is “{shown}”, which is not known here", shown = shown(name))))
        }
    }
}

/// Parses a text. A document type is refused: it is the way to entity bombs and to files outside.
pub(super) fn parsed(text: &str) -> Result<Document<'_>, Refusal> {
    let options = ParsingOptions { allow_dtd: false, nodes_limit: MOST_NODES, ..ParsingOptions::default() };
    outline(text)?;
    Document::parse_with_options(text, options).map_err(|e| {
        let what = match &e {
            roxmltree::Error::DtdDetected => {
                word!("has a document type (DOCTYPE), which invoices have not: it may pull in other files; refused")
                    .to_owned()
            }
            roxmltree::Error::NodesLimitReached => word!("has more elements than any invoice; refused").to_owned(),
            _ if !text.trim_start().starts_with('<') => {
                word!("is no XML and no PDF; expected an invoice as one of them").to_owned()
            }
            other => say!("is no sound XML, it may be cut off or damaged: {other}", other = shown(&other.to_string())),
        };
        let row = e.pos().row;
        Refusal { at: (row > 1).then(|| say!("line {row}", row)), what }
    })
}

/// Looks over the tags of a text before it is parsed: the parser's time grows with the square of the attributes of one
/// element and of the namespaces in force, so that a small file could keep it busy for hours. What is no sound XML passes
/// here; the parser refuses it and says where.
fn outline(text: &str) -> Result<(), Refusal> {
    let refuse = |what: &str| Err(Refusal::new(say!("has {what} than any invoice; refused", what)));
    let (mut rest, mut attributes, mut listed) = (text, 0_usize, 0_usize);
    // Namespaces declared by each open element, and by all of them.
    let (mut open, mut in_force): (Vec<usize>, usize) = (Vec::new(), 0);
    while let Some(at) = rest.find('<') {
        rest = &rest[at..];
        let skipped = [("<!--", "-->"), ("<![CDATA[", "]]>"), ("<?", "?>")];
        if let Some((begin, end)) = skipped.iter().find(|(begin, _)| rest.starts_with(begin)) {
            let Some(to) = rest[begin.len()..].find(end) else { return Ok(()) };
            rest = &rest[begin.len() + to + end.len()..];
            continue;
        }
        // A document type, which the parser refuses.
        if rest.starts_with("<!") {
            return Ok(());
        }
        let Some(tag) = Tag::of(rest) else { return Ok(()) };
        rest = &rest[tag.length..];
        if tag.closes {
            in_force -= open.pop().unwrap_or(0);
            continue;
        }
        attributes += tag.attributes;
        if tag.attributes > MOST_ATTRIBUTES || attributes > MOST_NODES as usize {
            return refuse(word!("more attributes"));
        }
        // The parser lists all that are in force anew wherever one is declared.
        if tag.namespaces > 0 {
            listed += in_force + tag.namespaces;
        }
        if in_force + tag.namespaces > MOST_NAMESPACES || listed > MOST_LISTED {
            return refuse(word!("more namespaces"));
        }
        if !tag.empty {
            open.push(tag.namespaces);
            in_force += tag.namespaces;
            if open.len() > DEEPEST {
                return refuse(word!("elements within elements deeper"));
            }
        }
    }
    Ok(())
}

/// A tag as far as [`outline`] looks at it.
struct Tag {
    length: usize,
    closes: bool,
    empty: bool,
    attributes: usize,
    namespaces: usize,
}

impl Tag {
    /// The tag that a text begins with; `None` when it does not end.
    fn of(text: &str) -> Option<Tag> {
        let bytes = text.as_bytes();
        let (mut attributes, mut namespaces, mut name_from, mut at) = (0, 0, 1, 1);
        loop {
            match *bytes.get(at)? {
                b'>' => break,
                quote @ (b'"' | b'\'') => {
                    attributes += 1;
                    namespaces += usize::from(text[name_from..at].trim_start().starts_with("xmlns"));
                    at += 1 + bytes[at + 1..].iter().position(|byte| *byte == quote)?;
                    name_from = at + 1;
                }
                byte if byte.is_ascii_whitespace() && attributes == 0 => name_from = at,
                _ => {}
            }
            at += 1;
        }
        let (closes, empty) = (bytes.get(1) == Some(&b'/'), bytes[at - 1] == b'/');
        Some(Tag { length: at + 1, closes, empty, attributes, namespaces })
    }
}

/// An element of a document.
#[derive(Clone, Copy)]
pub(super) struct Element<'a> {
    node: Node<'a, 'a>,
}

/// The namespaces that the children of an element are looked for in.
pub(super) type Space = &'static str;

impl<'a> Element<'a> {
    pub(super) fn root(document: &'a Document<'a>) -> Element<'a> {
        Element { node: document.root_element() }
    }

    pub(super) fn name(self) -> &'a str {
        self.node.tag_name().name()
    }

    pub(super) fn namespace(self) -> &'a str {
        self.node.tag_name().namespace().unwrap_or_default()
    }

    /// Line of the file.
    fn line(self) -> u32 {
        self.node.document().text_pos_at(self.node.range().start).row
    }

    /// A refusal that names the place of this element.
    pub(super) fn refused(self, what: impl Into<String>) -> Refusal {
        Refusal { at: Some(say!("line {line}", line = self.line())), what: what.into() }
    }

    /// Every child of a name.
    pub(super) fn all(self, space: Space, name: &'static str) -> impl Iterator<Item = Element<'a>> {
        let is = move |node: &Node<'_, '_>| {
            node.is_element() && node.tag_name().name() == name && node.tag_name().namespace() == Some(space)
        };
        self.node.children().filter(is).map(|node| Element { node })
    }

    /// The first child of a name.
    pub(super) fn first(self, space: Space, name: &'static str) -> Option<Element<'a>> {
        self.all(space, name).next()
    }

    /// The only child of a name.
    ///
    /// # Errors
    /// There are two: which one counts would be a guess.
    pub(super) fn only(self, space: Space, name: &'static str) -> Result<Option<Element<'a>>, Refusal> {
        let mut all = self.all(space, name);
        let first = all.next();
        match all.next() {
            Some(second) => {
                Err(second.refused(say!("a second {name} in {shown}; expected one", name, shown = shown(self.name()))))
            }
            None => Ok(first),
        }
    }

    /// The child that has to be there.
    pub(super) fn must(self, space: Space, name: &'static str, meaning: &str) -> Result<Element<'a>, Refusal> {
        self.only(space, name)?.ok_or_else(|| {
            self.refused(say!(
                "{meaning} is missing: expected {name} in {shown}; ask for the invoice anew",
                meaning,
                name,
                shown = shown(self.name())
            ))
        })
    }

    /// The descendant at a path of first children.
    pub(super) fn at(self, space: Space, path: &[&'static str]) -> Option<Element<'a>> {
        path.iter().try_fold(self, |element, name| element.first(space, name))
    }

    pub(super) fn attribute(self, name: &str) -> Option<String> {
        self.node.attribute(name).map(tamed).filter(|text| !text.is_empty())
    }

    /// Everything that is written directly in the element, as it is written.
    fn raw(self) -> String {
        self.node.children().filter(Node::is_text).filter_map(|node| node.text()).collect()
    }

    /// Its text, tamed; `None` when there is none.
    pub(super) fn text(self) -> Option<String> {
        Some(tamed(&self.raw())).filter(|text| !text.is_empty())
    }

    /// The text of the first child of a name, tamed.
    pub(super) fn word(self, space: Space, name: &'static str) -> Option<String> {
        self.first(space, name)?.text()
    }

    /// A decimal number of `xsd:decimal`: a point, no exponent, no thousands.
    pub(super) fn decimal(self) -> Result<Decimal, Refusal> {
        let raw = self.raw();
        Decimal::parse(raw.trim()).map_err(|e| self.no_number(&raw, &e))
    }

    fn no_number(self, raw: &str, why: &DecimalError) -> Refusal {
        self.refused(say!("{shown} is “{raw}”; {why}", shown = shown(self.name()), raw = shown(raw), why))
    }

    /// A price: prices are sometimes written with the many decimals of a division; they are kept to nine, half to even.
    pub(super) fn price(self) -> Result<Decimal, Refusal> {
        let raw = self.raw();
        let trimmed = raw.trim();
        let long = trimmed.split_once('.').filter(|(_, fraction)| fraction.len() > 9 && fraction.is_ascii());
        let Some((whole, fraction)) = long else { return self.decimal() };
        if !fraction.bytes().all(|digit| digit.is_ascii_digit()) {
            return Err(self.no_number(&raw, &DecimalError::NotANumber));
        }
        let kept = Decimal::parse(&format!("{whole}.{}", &fraction[..9])).map_err(|e| self.no_number(&raw, &e))?;
        let rest = fraction[9..].trim_end_matches('0');
        let half = rest.cmp("5");
        let odd = fraction.as_bytes()[8] % 2 == 1;
        if half.is_gt() || (half.is_eq() && odd) {
            let step = Decimal::of(if whole.starts_with('-') { -1 } else { 1 }, 9);
            return kept.plus(step).ok_or_else(|| self.no_number(&raw, &DecimalError::TooLarge));
        }
        Ok(kept)
    }

    /// A number that may be missing.
    pub(super) fn number(self, space: Space, name: &'static str) -> Result<Option<Decimal>, Refusal> {
        self.only(space, name)?.map(Element::decimal).transpose()
    }

    /// A day as `xsd:date`, its zone left aside: `2026-03-10`, `2026-03-10Z`.
    pub(super) fn date(self) -> Result<NaiveDate, Refusal> {
        let raw = self.raw();
        let day = raw.trim();
        let (head, zone) = day.split_at_checked(10).unwrap_or((day, ""));
        let zone_is_one = zone.is_empty() || zone == "Z" || (zone.len() == 6 && zone.starts_with(['+', '-']));
        self.day(&raw, Some(head).filter(|_| zone_is_one), "%Y-%m-%d", "2026-03-10")
    }

    /// A day of CII: `20260310`, its format 102 (UNTDID 2379).
    pub(super) fn date_102(self) -> Result<NaiveDate, Refusal> {
        let raw = self.raw();
        let format = self.attribute("format");
        if let Some(other) = format.filter(|format| format != "102") {
            return Err(self.refused(say!(
                "a date has the format {other}; expected 102, such as 20260310",
                other = shown(&other)
            )));
        }
        self.day(&raw, Some(raw.trim()).filter(|day| day.len() == 8), "%Y%m%d", "20260310")
    }

    fn day(self, raw: &str, day: Option<&str>, form: &str, example: &str) -> Result<NaiveDate, Refusal> {
        day.filter(|day| day.bytes().all(|b| b.is_ascii_digit() || b == b'-'))
            .and_then(|day| NaiveDate::parse_from_str(day, form).ok())
            .ok_or_else(|| {
                self.refused(say!(
                    "{shown} is “{raw}”; expected a day such as {example}",
                    shown = shown(self.name()),
                    raw = shown(raw),
                    example
                ))
            })
    }

    /// `true`, `false`, `1` or `0`.
    pub(super) fn truth(self) -> Result<bool, Refusal> {
        let raw = self.raw();
        match raw.trim() {
            "true" | "1" => Ok(true),
            "false" | "0" => Ok(false),
            _ => Err(self.refused(say!(
                "{shown} is “{raw}”; expected true or false",
                shown = shown(self.name()),
                raw = shown(&raw)
            ))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_decoded_by_what_it_says() {
        let utf16: Vec<u8> = "<a>ä</a>".encode_utf16().flat_map(u16::to_le_bytes).collect();
        let with_bom: Vec<u8> = [0xFF, 0xFE].into_iter().chain(utf16.clone()).collect();
        let cases: [(&[u8], &str); 7] = [
            ("<a>ä</a>".as_bytes(), "<a>ä</a>"),
            (b"\xEF\xBB\xBF<a>\xC3\xA4</a>", "<a>ä</a>"),
            (
                b"<?xml version='1.0' encoding='ISO-8859-1'?><a>\xE4</a>",
                "<?xml version='1.0' encoding='ISO-8859-1'?><a>ä</a>",
            ),
            (
                b"<?xml version=\"1.0\" encoding=\"windows-1252\"?><a>\x80</a>",
                "<?xml version=\"1.0\" encoding=\"windows-1252\"?><a>€</a>",
            ),
            // Says UTF-16 and is not: written by programs that hold texts in it.
            (b"<?xml version='1.0' encoding='utf-16'?><a/>", "<?xml version='1.0' encoding='utf-16'?><a/>"),
            (&utf16, "<a>ä</a>"),
            (&with_bom, "<a>ä</a>"),
        ];
        for (bytes, want) in cases {
            assert_eq!(decoded(bytes).unwrap(), want);
        }
        for (bytes, says) in [
            (b"<a>\xE4</a>".as_slice(), "not UTF-8"),
            (b"<?xml version='1.0' encoding='klingon'?><a/>", "“klingon”, which is not known"),
            (b" \n", "empty"),
        ] {
            let refused = decoded(bytes).unwrap_err().what;
            assert!(refused.contains(says), "{refused}");
        }
    }

    #[test]
    fn prices_of_many_decimals_are_kept_to_nine() {
        for (text, want) in [
            ("9.890000000000001", "9.89"),
            ("0.3333333333333333", "0.333333333"),
            ("0.6666666666666666", "0.666666667"),
            ("-0.6666666666666666", "-0.666666667"),
            ("0.0000000005", "0"),
            ("0.0000000015", "0.000000002"),
            ("0.99999999999", "1"),
            (" 12.5 ", "12.5"),
        ] {
            let text = format!("<a>{text}</a>");
            let document = parsed(&text).unwrap();
            assert_eq!(Element::root(&document).price().unwrap().to_string(), want, "{text}");
        }
        for text in ["1.12345678901x", "1,2345", "1e3", "", "1.ü2345678901"] {
            let text = format!("<a>{text}</a>");
            let document = parsed(&text).unwrap();
            assert!(Element::root(&document).price().is_err(), "{text}");
        }
    }

    #[test]
    fn what_would_keep_the_parser_busy_is_refused() {
        let tag = |many: usize, name: &str| (0..many).map(|n| format!(" {name}{n}=\"u{n}\"")).collect::<String>();
        let one = |attributes: &str| format!("<a{attributes}/>");
        assert!(parsed(&one(&tag(MOST_ATTRIBUTES, "x"))).is_ok());
        assert!(parsed(&one(&tag(MOST_ATTRIBUTES + 1, "x"))).unwrap_err().what.contains("more attributes"));
        let nested = |each: usize| {
            let open: String = (0..50).map(|n| format!("<a{}>", tag(each, &format!("xmlns:p{n}q")))).collect();
            open + &"</a>".repeat(50)
        };
        assert!(parsed(&nested(2)).is_ok());
        assert!(parsed(&nested(3)).unwrap_err().what.contains("more namespaces"));
        let again = format!("<a{}>{}</a>", tag(98, "xmlns:p"), "<b xmlns:x='u'/>".repeat(MOST_LISTED / 98));
        assert!(parsed(&again).unwrap_err().what.contains("more namespaces"));
        // What is over is no longer in force; marks within quotes, comments and the like count for nothing.
        let one_by_one = format!("<r>{}</r>", "<a xmlns:x='u'><b/></a>".repeat(1_000));
        assert!(parsed(&one_by_one).is_ok());
        let quoted = format!(
            "<r a='{}'><!-- {} --><![CDATA[{}]]></r>",
            "&gt;> \"\"".repeat(200),
            "<a '' ".repeat(200),
            "<b>".repeat(200)
        );
        assert!(parsed(&quoted).is_ok(), "{:?}", parsed(&quoted).err());
    }

    #[test]
    fn depth_and_document_types_are_refused() {
        let deep = format!("{}{}", "<a>".repeat(200_000), "</a>".repeat(200_000));
        assert!(parsed(&"<a>".repeat(200_000)).unwrap_err().what.contains("deeper"));
        assert!(parsed(&deep).unwrap_err().what.contains("deeper"));
        let wide = format!("<a>{}</a>", "<b><c/></b>".repeat(10_000));
        assert!(parsed(&wide).is_ok());
        let at_the_limit = format!("{}{}", "<a>".repeat(DEEPEST), "</a>".repeat(DEEPEST));
        assert!(parsed(&at_the_limit).is_ok());
        let many = format!("<a>{}</a>", "<b/>".repeat(MOST_NODES as usize));
        assert!(parsed(&many).unwrap_err().what.contains("more elements"));
        assert!(parsed("<!DOCTYPE a><a/>").unwrap_err().what.contains("DOCTYPE"));
    }
}
