//! Figures that are measured are written into pages between two marks, so that what a page says is what was found.

use std::path::Path;

const END: &str = "<!-- end of figures -->\n";

/// Puts the figures of a bench into a page of the project.
pub(crate) fn put(page: &str, bench: &str, figures: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(page);
    let begin = format!("<!-- figures: cargo bench --bench {bench} -->\n");
    let text = std::fs::read_to_string(&path).expect("the page");
    let (head, rest) = text.split_once(&begin).expect("the mark where the figures begin");
    let (_, tail) = rest.split_once(END).expect("the mark where they end");
    std::fs::write(path, format!("{head}{begin}\n{figures}\n{END}{tail}")).expect("the page is written");
}
