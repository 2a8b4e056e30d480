//! Where things are when nobody says: one set of places for the system service, one for an
//! ordinary user (XDG Base Directory Specification).

use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// The places that stand in for those that no command line and no file names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DefaultPaths {
    /// The configuration.
    pub config: PathBuf,
    /// The folder for what must survive a restart.
    pub state: PathBuf,
    /// The control socket.
    pub socket: PathBuf,
}

impl DefaultPaths {
    /// The system service's.
    pub fn system() -> Self {
        Self {
            config: "/etc/beamhand/beamhand.toml".into(),
            state: "/var/lib/beamhand".into(),
            socket: "/run/beamhand/control".into(),
        }
    }

    /// An ordinary user's, from the environment; `None` without a home.
    pub fn user(env: &dyn Fn(&str) -> Option<OsString>) -> Option<Self> {
        // The specification says to ignore relative paths in these variables.
        let folder = |name: &str| env(name).map(PathBuf::from).filter(|path| path.is_absolute());
        let home = folder("HOME")?;
        let config = folder("XDG_CONFIG_HOME").unwrap_or_else(|| home.join(".config"));
        let state = folder("XDG_STATE_HOME").unwrap_or_else(|| home.join(".local/state")).join("beamhand");
        let socket = folder("XDG_RUNTIME_DIR").map_or_else(|| state.clone(), |run| run.join("beamhand"));
        Some(Self { config: config.join("beamhand/beamhand.toml"), socket: socket.join("control"), state })
    }

    /// Those that are meant when no file is named: the user's if there is a file of theirs, else
    /// the system's if there is one, else the user's.
    pub fn find(env: &dyn Fn(&str) -> Option<OsString>, exists: &dyn Fn(&Path) -> bool) -> Self {
        let (system, user) = (Self::system(), Self::user(env));
        match user {
            Some(user) if exists(&user.config) || !exists(&system.config) => user,
            _ => system,
        }
    }

    /// Those that go with a file that was named: the system's for the system's own file, the
    /// user's for any other.
    pub fn beside(file: &Path, env: &dyn Fn(&str) -> Option<OsString>) -> Self {
        let system = Self::system();
        if file == system.config {
            return system;
        }
        let user = Self::user(env).unwrap_or(system);
        Self { config: file.to_owned(), ..user }
    }
}

/// The log of contacts where no command line and no file names one: it is a person's, and not the
/// service's. `None` without a home.
pub fn contact_log(env: &dyn Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    let folder = |name: &str| env(name).map(PathBuf::from).filter(|path| path.is_absolute());
    let data = folder("XDG_DATA_HOME").or_else(|| Some(folder("HOME")?.join(".local/share")));
    Some(data?.join("beamhand/contacts.jsonl"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn env<'e>(variables: &'e [(&str, &str)]) -> impl Fn(&str) -> Option<OsString> + 'e {
        |name| variables.iter().find(|(key, _)| *key == name).map(|(_, value)| value.into())
    }

    fn shown(paths: &DefaultPaths) -> [&str; 3] {
        [&paths.config, &paths.state, &paths.socket].map(|path| path.to_str().unwrap())
    }

    const SYSTEM: [&str; 3] = ["/etc/beamhand/beamhand.toml", "/var/lib/beamhand", "/run/beamhand/control"];

    #[test]
    fn the_users_places_follow_the_environment() {
        let plain = DefaultPaths::user(&env(&[("HOME", "/home/u")])).unwrap();
        assert_eq!(
            shown(&plain),
            [
                "/home/u/.config/beamhand/beamhand.toml",
                "/home/u/.local/state/beamhand",
                "/home/u/.local/state/beamhand/control"
            ]
        );
        let xdg = [
            ("HOME", "/home/u"),
            ("XDG_CONFIG_HOME", "/c"),
            ("XDG_STATE_HOME", "/s"),
            ("XDG_RUNTIME_DIR", "/run/user/1000"),
        ];
        assert_eq!(
            shown(&DefaultPaths::user(&env(&xdg)).unwrap()),
            ["/c/beamhand/beamhand.toml", "/s/beamhand", "/run/user/1000/beamhand/control"]
        );
    }

    #[test]
    fn the_log_of_contacts_is_the_persons_own() {
        let log = |variables| contact_log(&env(variables)).map(|path| path.to_str().unwrap().to_owned());
        let usual = "/home/u/.local/share/beamhand/contacts.jsonl";
        assert_eq!(log(&[("HOME", "/home/u")]).as_deref(), Some(usual));
        let set = log(&[("HOME", "/home/u"), ("XDG_DATA_HOME", "/d")]);
        assert_eq!(set.as_deref(), Some("/d/beamhand/contacts.jsonl"));
        assert_eq!(log(&[("HOME", "/home/u"), ("XDG_DATA_HOME", "d")]).as_deref(), Some(usual));
        assert_eq!(log(&[]), None);
    }

    #[test]
    fn relative_variables_are_ignored_and_no_home_means_no_user() {
        let odd = [("HOME", "/home/u"), ("XDG_CONFIG_HOME", "here")];
        let user = DefaultPaths::user(&env(&odd)).unwrap();
        assert_eq!(shown(&user)[0], "/home/u/.config/beamhand/beamhand.toml");
        assert_eq!(DefaultPaths::user(&env(&[])), None);
    }

    #[test]
    fn a_users_own_file_comes_before_the_systems_and_the_systems_before_none() {
        let home = [("HOME", "/home/u")];
        let find = |there: &'static [&'static str]| {
            let found = DefaultPaths::find(&env(&home), &|path| there.contains(&path.to_str().unwrap()));
            shown(&found)[0].to_owned()
        };
        let user = "/home/u/.config/beamhand/beamhand.toml";
        assert_eq!(find(&["/etc/beamhand/beamhand.toml", "/home/u/.config/beamhand/beamhand.toml"]), user);
        assert_eq!(find(&["/etc/beamhand/beamhand.toml"]), SYSTEM[0]);
        assert_eq!(find(&[]), user);
        assert_eq!(shown(&DefaultPaths::find(&env(&[]), &|_| false)), SYSTEM);
    }

    #[test]
    fn a_named_file_brings_the_users_places_unless_it_is_the_systems() {
        let home = [("HOME", "/home/u")];
        let system = DefaultPaths::beside(Path::new("/etc/beamhand/beamhand.toml"), &env(&home));
        assert_eq!(shown(&system), SYSTEM);
        let mine = DefaultPaths::beside(Path::new("/tmp/a.toml"), &env(&home));
        assert_eq!(shown(&mine)[..2], ["/tmp/a.toml", "/home/u/.local/state/beamhand"]);
        let service = DefaultPaths::beside(Path::new("/tmp/a.toml"), &env(&[]));
        assert_eq!(shown(&service)[1..], SYSTEM[1..]);
    }
}
