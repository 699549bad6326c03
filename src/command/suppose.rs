//! `--set`: what would the verdict be if the plan said something else?

use clap::Args;

use crate::plan::Reading;
use crate::report::Supposed;

/// What a plan is to be read as if it said.
#[derive(Debug, Args)]
pub struct Supposing {
    /// Judge as if the plan said so, like --set wires.main.size="1/0 AWG"; may be given several times
    #[arg(long = "set", value_name = "PATH=VALUE", value_parser = supposed)]
    set: Vec<Supposed>,
}

fn supposed(written: &str) -> Result<Supposed, String> {
    let (path, value) = written.split_once('=').unwrap_or((written, ""));
    let (path, value) = (path.trim(), value.trim());
    if path.is_empty() || value.is_empty() {
        return Err("write a path, an equals sign and a value, like wires.main.size=\"1/0 AWG\"".into());
    }
    Ok(Supposed { path: path.to_owned(), value: value.to_owned() })
}

impl Supposing {
    /// The suppositions, in the order in which they were given.
    pub fn list(&self) -> &[Supposed] {
        &self.set
    }

    /// The plan as if it said all of them.
    ///
    /// # Errors
    /// A sentence on the first that cannot be.
    pub fn apply(&self, reading: Reading) -> Result<Reading, String> {
        self.set.iter().try_fold(reading, |reading, Supposed { path, value }| {
            reading.with(path, value).map_err(|why| format!("--set {path}={value}: {why}"))
        })
    }
}
