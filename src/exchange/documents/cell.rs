//! Cells of tables for spreadsheets.

/// What a spreadsheet would run as a formula is put behind an apostrophe (OWASP, “CSV Injection”); numbers of our own
/// never come here.
pub(super) fn cell(text: &str) -> String {
    match text.chars().next() {
        Some('=' | '+' | '-' | '@' | '＝' | '＋' | '－' | '＠' | '\t' | '\r' | '\n' | '\0') => format!("'{text}"),
        _ => text.to_owned(),
    }
}
