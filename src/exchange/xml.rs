//! XML from elsewhere, read as a stream: memory stays small whatever the file holds.
//!
//! No document type is read, no entity looked up outside, nothing but the five predefined entities and character
//! references resolved; depth, tags and texts have a limit. A reader goes down with [`Xml::child`] and takes what it
//! wants; what it does not know it skips:
//!
//! ```
//! # use tantalus::exchange::xml::Xml;
//! let file = "<till><name>Pier</name><sale>2</sale><sale>3</sale></till>".as_bytes();
//! let mut xml = Xml::new(Box::new(file), "sales.xml", None).unwrap();
//! let mut sales = Vec::new();
//! assert!(xml.child().unwrap() && xml.name() == "till");
//! while xml.child().unwrap() {
//!     match xml.name() {
//!         "sale" => sales.push(xml.text().unwrap().to_owned()),
//!         _ => xml.skip().unwrap(),
//!     }
//! }
//! assert_eq!(sales, ["2", "3"]);
//! ```

mod entities;
mod pieces;

use super::ReadError;
use super::encoding::{as_utf8, of_xml};
use super::plain::tamed;
use super::stream::{fill, quoted, said};
use entities::{resolved, unescaped};
use pieces::{PIECE, Pieces};
use quick_xml::NsReader;
use quick_xml::errors::{Error, IllFormedError};
use quick_xml::events::Event;
use quick_xml::name::ResolveResult;
use std::fmt;
use std::io::{Cursor, Read};
use std::path::PathBuf;

/// Elements that may be open at once.
const DEPTH: usize = 64;
/// Bytes that a tag may have, and attributes.
const TAG: usize = 1 << 16;
const ATTRIBUTES: usize = 256;
/// Bytes looked at for the encoding.
const START: usize = 1 << 10;

/// An XML file being read.
pub struct Xml {
    reader: NsReader<Pieces>,
    buffer: Vec<u8>,
    path: PathBuf,
    member: Option<String>,
    /// Names of the open elements one after the other, and where each begins.
    names: String,
    marks: Vec<usize>,
    space: String,
    attributes: Vec<(String, String)>,
    text: String,
    root_ended: bool,
    document_type: bool,
    encoding: &'static str,
}

impl fmt::Debug for Xml {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Xml").field("path", &self.path).field("place", &self.place()).finish_non_exhaustive()
    }
}

/// What was met.
enum Step {
    Opened,
    Closed,
    Passed,
    Ended,
}

impl Xml {
    /// Begins to read. `path` and `member`, the file inside an archive, are for messages.
    ///
    /// # Errors
    /// [`ReadError`] when the first bytes cannot be read or are in an encoding that is not known.
    pub fn new(
        mut stream: Box<dyn Read + Send>,
        path: impl Into<PathBuf>,
        member: Option<&str>,
    ) -> Result<Xml, ReadError> {
        let path = path.into();
        let member = member.map(tamed);
        let refuse = |what: String| match &member {
            Some(member) => ReadError::at(&path, member.clone(), what),
            None => ReadError::new(&path, what),
        };
        let mut start = vec![0; START];
        let have = fill(&mut stream, &mut start).map_err(|error| refuse(said(&error)))?;
        start.truncate(have);
        let encoding = of_xml(&start).map_err(&refuse)?;
        let whole: Box<dyn Read + Send> = Box::new(Cursor::new(start).chain(stream));
        let pieces = Pieces::new(as_utf8(whole, encoding));
        let mut reader = NsReader::from_reader(pieces);
        reader.config_mut().expand_empty_elements = true;
        Ok(Xml {
            reader,
            buffer: Vec::new(),
            path,
            member,
            names: String::new(),
            marks: Vec::new(),
            space: String::new(),
            attributes: Vec::new(),
            text: String::new(),
            root_ended: false,
            document_type: false,
            encoding: encoding.name(),
        })
    }

    /// Passes over a document type instead of refusing it. It is not read even so: entities that it declares stay
    /// unknown.
    #[must_use]
    pub fn passing_document_type(mut self) -> Xml {
        self.document_type = true;
        self
    }

    /// Goes to the next child of the element that is open, or to the root at the beginning: then that is open. `false`
    /// at the end of the element, which is left with that. Texts on the way are passed over.
    ///
    /// # Errors
    /// [`ReadError`] for anything that is no sound XML, or goes beyond the limits.
    pub fn child(&mut self) -> Result<bool, ReadError> {
        loop {
            match self.step(false)? {
                Step::Opened => return Ok(true),
                Step::Closed | Step::Ended => return Ok(false),
                Step::Passed => {}
            }
        }
    }

    /// The text of the element that is open, through its end, without blanks around it; of children it takes nothing.
    ///
    /// # Errors
    /// As [`Xml::child`].
    pub fn text(&mut self) -> Result<&str, ReadError> {
        Ok(self.raw_text()?.trim())
    }

    /// As [`Xml::text`], blanks and all.
    ///
    /// # Errors
    /// As [`Xml::child`].
    pub fn raw_text(&mut self) -> Result<&str, ReadError> {
        self.text.clear();
        loop {
            match self.step(true)? {
                Step::Opened => self.skip()?,
                Step::Closed | Step::Ended => return Ok(&self.text),
                Step::Passed => {}
            }
        }
    }

    /// Leaves the element that is open, whatever it holds.
    ///
    /// # Errors
    /// As [`Xml::child`].
    pub fn skip(&mut self) -> Result<(), ReadError> {
        let depth = self.marks.len();
        while self.marks.len() >= depth && depth > 0 {
            if matches!(self.step(false)?, Step::Ended) {
                break;
            }
        }
        Ok(())
    }

    /// Local name of the element that is open; empty outside the root.
    pub fn name(&self) -> &str {
        self.marks.last().map_or("", |mark| &self.names[*mark..])
    }

    /// How many elements are open.
    pub fn depth(&self) -> usize {
        self.marks.len()
    }

    /// Namespace of the element that was opened last; empty for none.
    pub fn namespace(&self) -> &str {
        &self.space
    }

    /// An attribute of the element that was opened last, by its local name.
    pub fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    /// Where the reader is: `line 12, auditfile/company`.
    pub fn place(&self) -> String {
        let mut place = match &self.member {
            Some(member) => say!("{member} line {line}", member, line = self.line()),
            None => say!("line {line}", line = self.line()),
        };
        let ends = self.marks.iter().skip(1).copied().chain([self.names.len()]);
        for (n, (mark, end)) in self.marks.iter().zip(ends).enumerate() {
            place.push_str(if n == 0 { ", " } else { "/" });
            place.extend(self.names[*mark..end].chars().take(40));
        }
        tamed(&place)
    }

    /// The line that was read last.
    pub fn line(&self) -> u64 {
        self.reader.get_ref().lines + 1
    }

    /// Refuses the file here.
    pub fn fail(&self, what: impl Into<String>) -> ReadError {
        ReadError::at(&self.path, self.place(), what)
    }

    fn step(&mut self, keep: bool) -> Result<Step, ReadError> {
        self.buffer.clear();
        self.reader.get_mut().begin();
        let (space, event) = match self.reader.read_resolved_event_into(&mut self.buffer) {
            Ok(read) => read,
            Err(error) => {
                let what = self.words(&error);
                return Err(self.fail(what));
            }
        };
        let met: Result<Step, String> = match event {
            Event::Start(tag) => {
                let space: Result<&str, String> = match space {
                    ResolveResult::Bound(space) => Ok(space.0),
                    ResolveResult::Unbound => Ok(""),
                    ResolveResult::Unknown(prefix) => Err(say!(
                        "the prefix {prefix} is never declared; the file is no sound XML",
                        prefix = quoted(&prefix)
                    )),
                };
                space.and_then(|space| {
                    if self.space != space {
                        self.space.clear();
                        self.space.push_str(space);
                    }
                    if self.root_ended {
                        return Err(word!("a second root begins here; expected the end of the file").to_owned());
                    }
                    if self.marks.len() >= DEPTH {
                        return Err(say!("elements are nested more than {DEPTH} deep, as in no export", DEPTH));
                    }
                    if tag.len() > TAG {
                        return Err(say!("a tag is longer than {TAG} bytes, as in no export", TAG));
                    }
                    self.attributes.clear();
                    for attribute in tag.attributes().with_checks(false) {
                        let attribute = attribute.map_err(|error| unsound(&error))?;
                        if self.attributes.len() >= ATTRIBUTES {
                            return Err(say!(
                                "a tag has more than {ATTRIBUTES} attributes, as in no export",
                                ATTRIBUTES
                            ));
                        }
                        if attribute.key.as_namespace_binding().is_some() {
                            continue;
                        }
                        let key = attribute.key.local_name().into_inner().to_owned();
                        self.attributes.push((key, unescaped(&attribute.value)?));
                    }
                    self.marks.push(self.names.len());
                    self.names.push_str(tag.local_name().into_inner());
                    Ok(Step::Opened)
                })
            }
            Event::End(_) => match self.marks.pop() {
                Some(mark) => {
                    self.names.truncate(mark);
                    self.root_ended = self.marks.is_empty();
                    Ok(Step::Closed)
                }
                None => Err(word!("an element ends that never began; the file is damaged").to_owned()),
            },
            Event::Text(text) => {
                let text = text.into_inner();
                if self.marks.is_empty() && !text.trim().is_empty() {
                    Err(say!(
                        "{quoted} stands outside the root element; the file is no sound XML",
                        quoted = quoted(&text)
                    ))
                } else {
                    keep_text(keep, &mut self.text, &text)
                }
            }
            Event::CData(text) => {
                if self.marks.is_empty() {
                    Err(word!("text stands outside the root element; the file is no sound XML").to_owned())
                } else {
                    keep_text(keep, &mut self.text, &text.into_inner())
                }
            }
            Event::GeneralRef(entity) => resolved(&entity).and_then(|c| {
                let mut bytes = [0; 4];
                keep_text(keep, &mut self.text, c.encode_utf8(&mut bytes))
            }),
            Event::DocType(_) if !self.document_type => Err(word!(
                "it has a document type (<!DOCTYPE …>), which no such export has and which can do harm; it is not read"
            )
            .to_owned()),
            Event::Eof if !self.marks.is_empty() => Err(word!(
                "the file ends in the middle: this element is never closed; copy it again from where it was made"
            )
            .to_owned()),
            Event::Eof if !self.root_ended => Err(word!("there is no element in it; expected an XML file").to_owned()),
            Event::Eof => Ok(Step::Ended),
            // An empty element comes as its start and end, as the reader was told.
            Event::Empty(_) | Event::Comment(_) | Event::Decl(_) | Event::PI(_) | Event::DocType(_) => Ok(Step::Passed),
        };
        met.map_err(|what| self.fail(what))
    }

    fn words(&self, error: &Error) -> String {
        match error {
            Error::Io(error) => said(error),
            Error::Encoding(_) => {
                say!(
                    "here are bytes that are no text in {encoding}, the encoding that it is in; save it as UTF-8",
                    encoding = self.encoding
                )
            }
            Error::IllFormed(IllFormedError::UnclosedReference) => {
                word!("an & stands alone; expected &amp; or another reference; the file is no sound XML").to_owned()
            }
            other => unsound(other),
        }
    }
}

fn unsound(error: &dyn fmt::Display) -> String {
    let why: String = tamed(&error.to_string()).chars().take(200).collect();
    say!("this is no sound XML ({why}); have it written again where it was made", why)
}

fn keep_text(keep: bool, into: &mut String, text: &str) -> Result<Step, String> {
    if keep {
        if into.len() + text.len() > PIECE {
            return Err(say!("a text is longer than {PIECE} bytes, as in no export", PIECE));
        }
        into.push_str(text);
    }
    Ok(Step::Passed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn over(bytes: impl Into<Vec<u8>>) -> Xml {
        Xml::new(Box::new(Cursor::new(bytes.into())), "x.xml", None).unwrap()
    }

    /// Walks all of it.
    fn refusal(bytes: impl Into<Vec<u8>>) -> String {
        let mut xml = match Xml::new(Box::new(Cursor::new(bytes.into())), "x.xml", None) {
            Ok(xml) => xml,
            Err(error) => return error.to_string(),
        };
        let mut walk = || -> Result<(), ReadError> {
            xml.child()?;
            while xml.child()? {
                xml.text()?;
            }
            xml.child()?;
            Ok(())
        };
        walk().unwrap_err().to_string()
    }

    #[test]
    fn texts_names_and_attributes_come_out_as_they_were_meant() {
        let mut xml = over(
            "<?xml version='1.0'?><!-- c --><n1:a xmlns:n1='urn:x'>\n<n1:b u='L&amp;R&#x21;'>Flo &amp; fj&#230;re\
             <![CDATA[ <IPA>]]><c>no</c></n1:b><d/></n1:a>\n",
        );
        assert!(xml.child().unwrap());
        assert_eq!((xml.name(), xml.namespace()), ("a", "urn:x"));
        assert!(xml.child().unwrap());
        assert_eq!((xml.name(), xml.attribute("u"), xml.line()), ("b", Some("L&R!"), 2));
        assert_eq!(xml.place(), "line 2, a/b");
        assert_eq!(xml.text().unwrap(), "Flo & fjære <IPA>");
        assert!(xml.child().unwrap());
        assert_eq!(xml.name(), "d");
        assert_eq!(xml.text().unwrap(), "");
        assert!(!xml.child().unwrap() && !xml.child().unwrap());
    }

    #[test]
    fn other_encodings_are_read() {
        let text = "<a>Sprø løk</a>";
        let (latin, _, _) = encoding_rs::WINDOWS_1252.encode(text);
        let utf16 = |mark: bool| {
            let mark = mark.then_some(0xfeff);
            mark.into_iter().chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect::<Vec<u8>>()
        };
        let latin = [b"<?xml version='1.0' encoding='ISO-8859-1'?>", &*latin].concat();
        for bytes in [text.into(), latin, utf16(true), utf16(false), [b"\xef\xbb\xbf", text.as_bytes()].concat()] {
            let mut xml = over(bytes);
            xml.child().unwrap();
            assert_eq!(xml.text().unwrap(), "Sprø løk");
        }
    }

    #[test]
    fn what_is_unsound_or_goes_too_far_is_refused_by_name() {
        let deep = "<a>".repeat(65);
        let bomb = "<!DOCTYPE a [<!ENTITY x 'xx'><!ENTITY y '&x;&x;'>]><a>&y;</a>";
        for (bytes, want) in [
            (bomb.as_bytes().to_vec(), "document type"),
            (b"<!DOCTYPE a SYSTEM 'file:///etc/passwd'><a/>".to_vec(), "document type"),
            (b"<a><b>&nbsp;</b></a>".to_vec(), "the entity “nbsp” is not known"),
            (b"<a><b x='&y;'/></a>".to_vec(), "the entity “y” is not known"),
            (b"<a><b>fish & chips</b></a>".to_vec(), "& stands alone"),
            (b"<a><b>1</b>".to_vec(), "line 1, a: the file ends in the middle"),
            (b"<a><b></c></a>".to_vec(), "no sound XML"),
            (b"<a/><b/>".to_vec(), "second root"),
            (b"<a/>more".to_vec(), "outside the root"),
            (b"<a><p:b/></a>".to_vec(), "the prefix “p” is never declared"),
            (b"<a><b>\xe6</b></a>".to_vec(), "no text in UTF-8"),
            (deep.into_bytes(), "64 deep"),
            (b"  ".to_vec(), "no element"),
            (Vec::new(), "no element"),
            (format!("<a><b>{}</b></a>", "x".repeat(10 << 20)).into_bytes(), "longer than a megabyte"),
            (format!("<a><b>{}</b></a>", "xxxxxxx&amp;".repeat(1 << 18)).into_bytes(), "longer than 1048576"),
            (format!("<a><b x='{}'/></a>", "x".repeat(1 << 17)).into_bytes(), "a tag is longer"),
            (format!("<a><b {}/></a>", "x='' ".repeat(300)).into_bytes(), "256 attributes"),
            (format!("<a><!--{}--></a>", "x".repeat(2 << 20)).into_bytes(), "longer than a megabyte"),
            (b"<?xml version='1.0' encoding='rot-13'?><a/>".to_vec(), "“rot-13”"),
        ] {
            let said = refusal(bytes);
            assert!(said.contains(want), "{said} should say {want}");
        }
    }

    #[test]
    fn a_document_type_is_passed_over_where_that_is_said_but_its_entities_stay_unknown() {
        let mut xml = over("<!DOCTYPE a SYSTEM 'a.dtd' [<!ENTITY x 'y'>]><a>1&x;</a>").passing_document_type();
        assert!(xml.child().unwrap());
        assert!(xml.text().unwrap_err().to_string().contains("“x” is not known"));
    }
}
