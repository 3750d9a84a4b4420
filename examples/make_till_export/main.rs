//! Writes a till export of a size, for measuring: invented drinks, plausible receipts.
//!
//! `cargo run --release --example make_till_export -- KIND PATH [MEGABYTES]`, where KIND is `dsfinvk` (a folder), `saft`
//! (a Norwegian file) or `saft-pt`.

mod write;

use std::path::Path;

fn main() -> std::io::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let (kind, path) = match args.as_slice() {
        [kind, path, ..] => (kind.as_str(), Path::new(path)),
        _ => {
            eprintln!("make_till_export dsfinvk|saft|saft-pt PATH [MEGABYTES]");
            std::process::exit(2);
        }
    };
    let megabytes: u64 = args.get(2).and_then(|size| size.parse().ok()).unwrap_or(10);
    let bytes = megabytes << 20;
    let lines = match kind {
        "dsfinvk" => write::dsfinvk(path, bytes)?,
        "saft" => write::saft_no(path, bytes)?,
        "saft-pt" => write::saft_pt(path, bytes)?,
        other => {
            eprintln!("{other} is none of dsfinvk, saft and saft-pt");
            std::process::exit(2);
        }
    };
    println!("{lines} lines");
    Ok(())
}
