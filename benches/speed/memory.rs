//! How much memory was most.

// Not every bench asks both.
#![allow(dead_code)]

use std::process::Command;

/// Of a process that still runs, in MB; nothing where the system does not say.
pub(crate) fn of_process(id: u32) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{id}/status")).unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or_default();
    line.split_whitespace().next().and_then(|kb| kb.parse::<f64>().ok()).map_or(f64::NAN, |kb| kb / 1_024.0)
}

/// Of a command that runs to its end, in MB; needs GNU time.
pub(crate) fn of_command(command: &Command) -> f64 {
    let mut measured = Command::new("/usr/bin/time");
    measured.args(["-f", "%M"]).arg(command.get_program()).args(command.get_args());
    measured.envs(command.get_envs().filter_map(|(name, value)| Some((name, value?))));
    let Ok(done) = measured.output() else { return f64::NAN };
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    said.lines().last().and_then(|kb| kb.trim().parse::<f64>().ok()).map_or(f64::NAN, |kb| kb / 1_024.0)
}
