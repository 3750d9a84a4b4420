//! In which encoding a foreign text is.

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};
use encoding_rs_io::DecodeReaderBytesBuilder;
use std::io::Read;

/// The encoding that the first bytes of a file give away: by a mark, or by the zeros of UTF-16. `Err` for UTF-32.
pub(super) fn marked(start: &[u8]) -> Result<Option<&'static Encoding>, &'static str> {
    match start {
        [0xff, 0xfe, 0, 0, ..] | [0, 0, 0xfe, 0xff, ..] => Err(word!("it is in UTF-32; save it as UTF-8")),
        [0xef, 0xbb, 0xbf, ..] => Ok(Some(UTF_8)),
        [0xff, 0xfe, ..] => Ok(Some(UTF_16LE)),
        [0xfe, 0xff, ..] => Ok(Some(UTF_16BE)),
        [a, 0, b, 0, ..] if *a != 0 && *b != 0 => Ok(Some(UTF_16LE)),
        [0, a, 0, b, ..] if *a != 0 && *b != 0 => Ok(Some(UTF_16BE)),
        _ => Ok(None),
    }
}

/// The encoding of an XML file: by its first bytes, else as its declaration says, else UTF-8.
pub(super) fn of_xml(start: &[u8]) -> Result<&'static Encoding, String> {
    if let Some(encoding) = marked(start).map_err(str::to_owned)? {
        return Ok(encoding);
    }
    let Some(label) = declared(start) else { return Ok(UTF_8) };
    match Encoding::for_label(label) {
        // These bytes are no UTF-16: whoever wrote the declaration wrote another encoding than it says.
        Some(said) if said == UTF_16LE || said == UTF_16BE => Ok(UTF_8),
        Some(said) => Ok(said),
        None => {
            let label = super::stream::quoted(&String::from_utf8_lossy(label));
            Err(say!("it says that it is in the encoding {label}, which is not known here; save it as UTF-8", label))
        }
    }
}

/// What stands behind `encoding=` in the declaration.
fn declared(start: &[u8]) -> Option<&[u8]> {
    let start = start.strip_prefix(b"<?xml")?;
    let end = start.windows(2).position(|two| two == b"?>")?;
    let declaration = &start[..end];
    let word = b"encoding";
    let at = declaration.windows(word.len()).position(|part| part == word)? + word.len();
    let rest = declaration[at..].trim_ascii_start().strip_prefix(b"=")?.trim_ascii_start();
    let (quote, rest) = rest.split_first()?;
    let end = rest.iter().position(|byte| byte == quote).filter(|_| matches!(quote, b'"' | b'\''))?;
    Some(&rest[..end])
}

/// The stream as UTF-8. What is UTF-8 already passes as it is, so that whoever reads it can refuse what is not.
pub(super) fn as_utf8(stream: Box<dyn Read + Send>, encoding: &'static Encoding) -> Box<dyn Read + Send> {
    if encoding == UTF_8 {
        return stream;
    }
    Box::new(DecodeReaderBytesBuilder::new().encoding(Some(encoding)).bom_override(true).build(stream))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Appendix F of XML 1.0 (W3C): detection without external information.
    #[test]
    fn an_encoding_is_found_by_marks_zeros_and_words() {
        for (start, want) in [
            (&b"<a/>"[..], "UTF-8"),
            (b"\xef\xbb\xbf<?xml version='1.0' encoding='windows-1252'?>", "UTF-8"),
            (b"<?xml version=\"1.0\" encoding = \"Windows-1252\" ?><a/>", "windows-1252"),
            (b"<?xml version='1.0' encoding='ISO-8859-1'?>", "windows-1252"),
            (b"<?xml version='1.0' encoding='ISO-8859-15'?>", "ISO-8859-15"),
            (b"<?xml version='1.0' encoding='UTF-16'?>", "UTF-8"),
            (b"<\0?\0x\0", "UTF-16LE"),
            (b"\xfe\xff\0<", "UTF-16BE"),
            (b"\0<\0?", "UTF-16BE"),
        ] {
            assert_eq!(of_xml(start).unwrap().name(), want, "{start:?}");
        }
        assert!(of_xml(b"<?xml version='1.0' encoding='x-nonsense'?>").unwrap_err().contains("x-nonsense"));
        assert!(of_xml(b"\0\0\xfe\xff\0\0\0<").unwrap_err().contains("UTF-32"));
    }
}
