//! What the daemon kept of its listening, from the files on the disk.

use std::path::{Path, PathBuf};

use chrono::Utc;
use clap::Args;

use crate::cli::Failure;
use crate::cli::source::load_any_config;
use crate::cli::text::{between, remark};
use crate::listening::{Findings, Spell, Study, form};
use crate::terms::{Time, later};

/// Which of what was heard is meant.
#[derive(Args, Debug)]
pub(in crate::cli) struct Heard {
    /// Only the last days; fractions are good
    #[arg(long, value_name = "N", default_value_t = 30.0, value_parser = days)]
    #[arg(allow_negative_numbers = true)]
    days: f64,
    /// Only this satellite
    #[arg(long, value_name = "NAME")]
    satellite: Option<String>,
    /// Where the files are [default: the folder `listening` of the daemon's state folder]
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

impl Heard {
    /// What follows from it, link by link.
    ///
    /// # Errors
    /// With the remedy, where nothing was kept.
    pub(in crate::cli) fn findings(&self) -> Result<Vec<Findings>, Failure> {
        let folder = self.place()?;
        let (mut study, mut names) = (Study::default(), Vec::new());
        let since = self.since();
        for file in files(&folder, since)? {
            let bytes = std::fs::read(&file)
                .map_err(|error| Failure::Failed(format!("{}: {error}", file.display())))?;
            for spell in form::read(&bytes) {
                match spell {
                    Ok(spell) if is_late(&spell, since) => {
                        if self.is_wanted(&spell) {
                            study.add(&spell);
                        } else if !names.contains(&spell.satellite) {
                            names.push(spell.satellite);
                        }
                    }
                    Ok(_) => {}
                    // The daemon may just be writing the newest file.
                    Err(damage) if damage.is_end => {}
                    Err(damage) => remark(format_args!("{}: {damage}", file.display())),
                }
            }
        }
        if study.is_empty() {
            return Err(Failure::Failed(self.nothing(&folder, &names)));
        }
        Ok(study.findings())
    }

    /// How many days are meant.
    pub(in crate::cli) fn days(&self) -> f64 {
        self.days
    }

    fn since(&self) -> Time {
        later(Utc::now(), -self.days * 86_400.0)
    }

    fn place(&self) -> Result<PathBuf, Failure> {
        if let Some(folder) = &self.folder {
            return Ok(folder.clone());
        }
        let config = load_any_config(self.config.as_deref())?;
        let none = "no configuration says where the daemon keeps what it hears; name one with --config, or \
                    the files' folder with --folder";
        Ok(config.ok_or_else(|| Failure::Failed(none.to_owned()))?.files.state.join(form::FOLDER))
    }

    fn is_wanted(&self, spell: &Spell) -> bool {
        self.satellite.as_ref().is_none_or(|wanted| spell.satellite.eq_ignore_ascii_case(wanted))
    }

    fn nothing(&self, folder: &Path, names: &[String]) -> String {
        let days = self.days;
        match &self.satellite {
            Some(wanted) if !names.is_empty() => {
                format!("\"{wanted}\" was not listened to in {days} days; there are {}", names.join(", "))
            }
            _ => format!(
                "nothing was listened to in {days} days, by {}. List satellites in `satellites` of \
                 [listening], then `beamhand auto on` while `beamhand run` runs: it listens to every pass \
                 that nothing more important claims",
                folder.display()
            ),
        }
    }
}

/// The files of the days from then on, in order; one more, because a spell may go on past midnight.
fn files(folder: &Path, since: Time) -> Result<Vec<PathBuf>, Failure> {
    let failed = |error: std::io::Error| Failure::Failed(format!("{}: {error}", folder.display()));
    let entries = match std::fs::read_dir(folder) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        entries => entries.map_err(failed)?,
    };
    let first = later(since, -86_400.0).date_naive();
    let mut files = Vec::new();
    for entry in entries {
        let name = entry.map_err(failed)?.file_name();
        let day = name.to_str().and_then(form::day_of);
        files.extend(day.filter(|day| *day >= first).map(|day| (day, folder.join(&name))));
    }
    files.sort();
    Ok(files.into_iter().map(|(_, file)| file).collect())
}

fn is_late(spell: &Spell, since: Time) -> bool {
    spell.readings.last().is_some_and(|last| last.at >= since)
}

fn days(text: &str) -> Result<f64, String> {
    between(text, 0.01, 10_000.0, "days")
}
