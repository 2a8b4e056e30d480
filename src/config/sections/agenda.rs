//! `[agenda]`.

use crate::config::agenda::{Agenda, Listed, UserCommand, When};
use crate::config::defaults;
use crate::config::document::Section;
use crate::config::document::kind::{named_or_grouped, number, text};

use super::link::schedule;
use crate::link::Schedule;

pub(super) fn agenda(mut agenda: Section<'_>) -> Agenda {
    let satellites = listed(&mut agenda);
    let minimum_elevation = agenda.optional("minimum_elevation", &number(0.0..=89.0, "degrees"));
    let quiet = agenda.sections("quiet", "[[agenda.quiet]]").into_iter().map(quiet_hours).collect();
    let commands = agenda.sections("command", "[[agenda.command]]");
    agenda.finish();
    let commands = commands.into_iter().filter_map(command).collect();
    Agenda { satellites, minimum_elevation, quiet, commands }
}

/// `satellites`, the most important first.
pub(super) fn listed(section: &mut Section<'_>) -> Vec<Listed> {
    let groups = section.list_with_places("satellites", &named_or_grouped()).unwrap_or_default();
    let mut satellites: Vec<Listed> = Vec::new();
    let members = groups.into_iter().enumerate().flat_map(|(rank, (group, place))| {
        group.into_iter().map(move |(satellite, link)| Listed { satellite, link, rank, place: place.clone() })
    });
    for listed in members {
        if satellites.iter().any(|other| is_same(other, &listed)) {
            section.refuse("satellites", format!("`satellites` names {} twice", listed.satellite));
        }
        satellites.push(listed);
    }
    satellites
}

/// A span that is left out would be the whole day, which nobody means by leaving it out.
fn quiet_hours(hours: Section<'_>) -> Schedule {
    for (key, other) in [("from", "to"), ("to", "from")] {
        if !hours.has(key) {
            let what = format!(
                "`{key}` is missing in [[agenda.quiet]]: give both, such as from = \"22:00\" and to = \"07:00\"; \
                 \"00:00\" for both is the whole day"
            );
            hours.refuse(other, what);
        }
    }
    schedule(hours)
}

fn is_same(one: &Listed, other: &Listed) -> bool {
    let lower = |link: &Option<String>| link.as_ref().map(|link| link.to_lowercase());
    one.satellite.eq_ignore_ascii_case(&other.satellite) && lower(&one.link) == lower(&other.link)
}

fn command(mut command: Section<'_>) -> Option<UserCommand> {
    let moment = text().map("\"aos\", \"los\", or such as \"5 min before aos\"", |words| When::parse(&words));
    let when = command.required("at", &moment);
    let run = command.list("run", &text());
    let limit_s = command.or("limit_s", &number(1.0..=7200.0, "seconds"), defaults::COMMAND_LIMIT_S);
    command.finish();
    match run.as_deref().map(|run| run.first().map_or("", String::as_str)) {
        None if !command.has("run") => command.refuse("run", "`run` is missing in [[agenda.command]]"),
        Some("") => command.refuse("run", "`run` is empty: it begins with the program"),
        Some(program) if !program.starts_with('/') => {
            command.refuse(
                "run",
                format!("`run` begins with \"{program}\": give the program's whole path, from /"),
            );
        }
        _ => {}
    }
    Some(UserCommand { when: when?, run: run?, limit_s })
}
