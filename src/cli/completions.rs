//! `tantalus completions`: what a shell needs to complete the commands.

use super::Refusal;
use clap_complete::Shell;

/// Write the completions for a shell to standard output
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Which shell
    pub(super) shell: Shell,
}

pub(super) fn run(args: &Args) -> Result<String, Refusal> {
    let mut out = Vec::new();
    clap_complete::generate(args.shell, &mut super::command(), "tantalus", &mut out);
    String::from_utf8(out).map_err(|_| Refusal::new("the completions are no text"))
}
