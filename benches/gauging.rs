//! How exact each way of gauging is, on simulated bottles of known content, and how fast a counter's eye is known.
//!
//! `cargo bench --bench gauging` prints the tables; with `UPDATE_DOCS=1` it also writes them into `docs/gauging.md`,
//! between its markers, and draws `docs/gauging.svg`. Seeded, so that every run gives the same figures.

#![allow(missing_docs)]

#[path = "../tests/support/pages.rs"]
mod pages;
#[path = "../tests/support/simulated.rs"]
mod simulated;

use simulated::{METHODS, UNCHECKED, convergence, run};
use std::fmt::Write;
use std::path::Path;

const SEED: u64 = 20_261_125;
const BOTTLES: u32 = 200_000;
const COUNTERS: u32 = 20_000;
const PAIRS: [usize; 11] = [0, 1, 2, 3, 5, 8, 12, 16, 20, 30, 40];

fn main() {
    let mut text = String::new();
    text.push_str("| 700 ml bottle | error, root mean square | stated u | bias | 95 % interval held |\n");
    text.push_str("| --- | --- | --- | --- | --- |\n");
    for method in METHODS.iter().chain([&UNCHECKED]) {
        let score = run(method, SEED, BOTTLES);
        let held = 100.0 * score.coverage();
        let (rms, stated, bias) = (score.rms(), score.stated(), score.bias());
        let _ = writeln!(text, "| {} | {rms:.1} ml | {stated:.1} ml | {bias:+.2} ml | {held:.1} % |", method.name);
    }
    text.push_str("\n| pairs weighed | error of the bias | error of the spread | error of a reading |\n");
    text.push_str("| --- | --- | --- | --- |\n");
    let mut lines: [Vec<f64>; 3] = Default::default();
    for pairs in PAIRS {
        let (bias, spread, reading) = convergence(pairs, SEED, COUNTERS);
        let _ = writeln!(text, "| {pairs} | {bias:.2} tenths | {spread:.2} tenths | {reading:.2} tenths |");
        lines.iter_mut().zip([bias, spread, reading]).for_each(|(line, value)| line.push(value));
    }
    println!("{text}");
    if std::env::var_os("UPDATE_DOCS").is_some() {
        let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs");
        std::fs::write(docs.join("gauging.svg"), figure(&lines)).expect("docs/gauging.svg is written");
        pages::put("docs/gauging.md", "gauging", &text);
    }
}

/// Root mean square errors in tenths against pairs weighed, as a picture of its own.
fn figure(lines: &[Vec<f64>; 3]) -> String {
    const WIDTH: f64 = 640.0;
    const HEIGHT: f64 = 360.0;
    const LEFT: f64 = 56.0;
    const RIGHT: f64 = 150.0;
    const TOP: f64 = 20.0;
    const BOTTOM: f64 = 48.0;
    let most = lines.iter().flatten().copied().fold(0.0, f64::max);
    let most = (most * 5.0).ceil() / 5.0;
    let last = PAIRS[PAIRS.len() - 1] as f64;
    let x = |pairs: f64| LEFT + pairs / last * (WIDTH - LEFT - RIGHT);
    let y = |tenths: f64| HEIGHT - BOTTOM - tenths / most * (HEIGHT - TOP - BOTTOM);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" \
         font-family=\"sans-serif\" font-size=\"13\">\n<title>How fast a counter's eye is known</title>\n\
         <rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"#ffffff\"/>\n"
    );
    for n in 0..=(most * 5.0).round() as u32 {
        let tenths = f64::from(n) / 5.0;
        let at = y(tenths);
        let _ = writeln!(
            out,
            "<path d=\"M{LEFT} {at:.1}H{:.1}\" stroke=\"#d8d8d8\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{tenths:.1}</text>",
            WIDTH - RIGHT,
            LEFT - 6.0,
            at + 4.0
        );
    }
    for pairs in [0, 10, 20, 30, 40] {
        let (at, below) = (x(f64::from(pairs)), HEIGHT - BOTTOM + 18.0);
        let _ = writeln!(out, "<text x=\"{at:.1}\" y=\"{below:.1}\" text-anchor=\"middle\">{pairs}</text>");
    }
    let middle = (LEFT + WIDTH - RIGHT) / 2.0;
    let _ = writeln!(
        out,
        "<text x=\"{middle:.1}\" y=\"{:.1}\" text-anchor=\"middle\">containers read by eye and weighed</text>\n\
         <text x=\"14\" y=\"{:.1}\" text-anchor=\"middle\" transform=\"rotate(-90 14 {:.1})\">error, tenths</text>",
        HEIGHT - 8.0,
        HEIGHT / 2.0,
        HEIGHT / 2.0
    );
    // Told apart by their dashes too, not by colour alone.
    let looks = [
        ("the bias", "#1b4f9c", "", 14.0),
        ("the spread", "#9c5a1b", "7 4", -2.0),
        ("one reading", "#2e7d32", "2 3", 4.0),
    ];
    for (line, (name, colour, dashes, down)) in lines.iter().zip(looks) {
        let points: Vec<String> = PAIRS
            .iter()
            .zip(line)
            .map(|(pairs, tenths)| format!("{:.1},{:.1}", x(*pairs as f64), y(*tenths)))
            .collect();
        let _ = writeln!(
            out,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"2\" stroke-dasharray=\"{dashes}\"/>\n\
             <text x=\"{:.1}\" y=\"{:.1}\" fill=\"{colour}\">{name}</text>",
            points.join(" "),
            WIDTH - RIGHT + 8.0,
            y(line[line.len() - 1]) + down
        );
    }
    out.push_str("</svg>\n");
    out
}
