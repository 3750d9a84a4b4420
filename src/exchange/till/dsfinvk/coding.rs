//! Cells as text, in the encodings that an index can name.

use super::index::Coding;
use encoding_rs::{MACINTOSH, WINDOWS_1252};
use std::borrow::Cow;

/// The upper half of code page 850 (mapping CP850 of the Unicode Consortium, as Python's codec `cp850` has it): what DOS
/// and its tills wrote in Germany.
const OEM: &str = "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜø£Ø×ƒáíóúñÑªº¿®¬½¼¡«»░▒▓│┤ÁÂÀ©╣║╗╝¢¥┐└┴┬├─┼ãÃ╚╔╩╦╠═╬¤ðÐÊËÈıÍÎÏ┘┌█▄¦Ì▀ÓßÔÒõÕµþÞÚÛÙýÝ¯´\u{ad}±‗¾¶§÷¸°¨·¹³²■\u{a0}";

/// A cell as text; `None` when its bytes are no text in that encoding. What is said to be ANSI, or not said, and is sound
/// UTF-8 is taken for that: two such letters in a row make no sense in Windows-1252.
pub(super) fn text(coding: Coding, bytes: &[u8]) -> Option<Cow<'_, str>> {
    if let Ok(text) = std::str::from_utf8(bytes)
        && (bytes.is_ascii() || matches!(coding, Coding::Utf8 | Coding::Utf16 | Coding::Ansi))
    {
        return Some(Cow::Borrowed(text));
    }
    match coding {
        Coding::Ansi => Some(WINDOWS_1252.decode_without_bom_handling(bytes).0),
        Coding::Macintosh => Some(MACINTOSH.decode_without_bom_handling(bytes).0),
        Coding::Oem => {
            let upper = |byte: u8| OEM.chars().nth(usize::from(byte - 128)).unwrap_or('\u{fffd}');
            let char_of = |byte: &u8| if byte.is_ascii() { char::from(*byte) } else { upper(*byte) };
            Some(Cow::Owned(bytes.iter().map(char_of).collect()))
        }
        Coding::Utf8 | Coding::Utf16 | Coding::Utf7 => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bytes by Python's codecs cp1252, mac_roman and cp850.
    #[test]
    fn umlauts_come_out_of_every_encoding() {
        assert_eq!(OEM.chars().count(), 128);
        for (coding, bytes) in [
            (Coding::Utf8, "Kräuter ß".as_bytes()),
            (Coding::Ansi, "Kräuter ß".as_bytes()),
            (Coding::Ansi, b"Kr\xe4uter \xdf"),
            (Coding::Macintosh, b"Kr\x8auter \xa7"),
            (Coding::Oem, b"Kr\x84uter \xe1"),
        ] {
            assert_eq!(text(coding, bytes).as_deref(), Some("Kräuter ß"), "{coding:?}");
        }
        assert_eq!(text(Coding::Utf8, b"Kr\xe4uter"), None);
    }
}
