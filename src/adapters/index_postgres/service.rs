//! A libpq service: the connection by a name, the password from the passfile, nothing of it from the command line.
//!
//! Source: PostgreSQL documentation, "The Connection Service File" and "The Password File". Of libpq's many members
//! those that a tablet needs are known; any other is refused, so that none is silently ignored.

use crate::review::IndexError;
use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::PathBuf;

/// Largest file read, bytes.
const MAX_BYTES: u64 = 64 << 10;

/// Where a service leads.
pub(super) fn connection(
    service: &str,
    environment: &BTreeMap<String, String>,
) -> Result<postgres::Config, IndexError> {
    let home = |name: &str| environment.get("HOME").map(|home| PathBuf::from(home).join(name));
    let named = |variable: &str| environment.get(variable).map(PathBuf::from);
    let own = named("PGSERVICEFILE").or_else(|| home(".pg_service.conf"));
    let system = named("PGSYSCONFDIR").map(|folder| folder.join("pg_service.conf"));
    let places: Vec<PathBuf> = own.into_iter().chain(system).filter(|path| path.exists()).collect();
    for path in &places {
        let text = read(path)?;
        if let Some(members) = section(&text, service).map_err(|line| bad(path, line))? {
            let passfile = members.get("passfile").map(PathBuf::from).or_else(|| named("PGPASSFILE"));
            return config(&members, passfile.or_else(|| home(".pgpass")));
        }
    }
    Err(unusable(format!("no service \"{service}\" in {}", listed(&places))))
}

fn listed(places: &[PathBuf]) -> String {
    if places.is_empty() {
        return "any file; PGSERVICEFILE or ~/.pg_service.conf names services".to_owned();
    }
    places.iter().map(|path| path.display().to_string()).collect::<Vec<_>>().join(", ")
}

fn unusable(reason: String) -> IndexError {
    IndexError::Unusable { reason }
}

fn bad(path: &std::path::Path, line: usize) -> IndexError {
    unusable(format!(
        "{}:{line}: not [service], not name=value, or a member this program does not know",
        path.display()
    ))
}

fn read(path: &std::path::Path) -> Result<String, IndexError> {
    let failed = |fault: std::io::Error| unusable(format!("{}: {fault}", path.display()));
    if fs::metadata(path).map_err(failed)?.len() > MAX_BYTES {
        return Err(unusable(format!("{}: more than {MAX_BYTES} bytes", path.display())));
    }
    fs::read_to_string(path).map_err(failed)
}

const KNOWN: [&str; 7] = ["dbname", "host", "hostaddr", "passfile", "port", "sslmode", "user"];

/// Members of one section, or the number of the first line that is wrong.
fn section(text: &str, service: &str) -> Result<Option<BTreeMap<String, String>>, usize> {
    let mut found: Option<BTreeMap<String, String>> = None;
    let mut here = false;
    for (at, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        if let Some(name) = line.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')) {
            here = name == service && found.is_none();
            if here {
                found = Some(BTreeMap::new());
            }
            continue;
        }
        let (name, value) = line.split_once('=').ok_or(at + 1)?;
        if let Some(members) = found.as_mut().filter(|_| here) {
            if !KNOWN.contains(&name.trim()) {
                return Err(at + 1);
            }
            members.insert(name.trim().to_owned(), value.trim().to_owned());
        }
    }
    Ok(found)
}

fn config(members: &BTreeMap<String, String>, passfile: Option<PathBuf>) -> Result<postgres::Config, IndexError> {
    let of = |name: &str| members.get(name).map(String::as_str);
    let host = of("hostaddr").or(of("host")).unwrap_or("/var/run/postgresql");
    let port: u16 = of("port").unwrap_or("5432").parse().map_err(|_| unusable("port: not a number".to_owned()))?;
    let user = of("user").ok_or_else(|| unusable("the service names no user".to_owned()))?;
    let dbname = of("dbname").unwrap_or(user);
    if !matches!(of("sslmode").unwrap_or("prefer"), "disable" | "allow" | "prefer") {
        return Err(unusable(
            "sslmode: this build speaks no TLS; reach the server over a tunnel or a socket".to_owned(),
        ));
    }
    let mut config = postgres::Config::new();
    config.host(host).port(port).user(user).dbname(dbname).application_name("brimline");
    config.connect_timeout(std::time::Duration::from_secs(10));
    if let Some(path) = passfile.filter(|path| path.exists())
        && let Some(password) = password(&path, [host, &port.to_string(), dbname, user])?
    {
        config.password(password);
    }
    Ok(config)
}

/// The first line that fits host, port, database and user; a file that others may read is refused.
fn password(path: &std::path::Path, wanted: [&str; 4]) -> Result<Option<String>, IndexError> {
    let mode =
        fs::metadata(path).map_err(|fault| unusable(format!("{}: {fault}", path.display())))?.permissions().mode();
    if mode & 0o077 != 0 {
        return Err(unusable(format!("{}: others may read it; its mode must be 0600", path.display())));
    }
    let text = read(path)?;
    let lines = text.lines().filter(|line| !line.starts_with('#'));
    let fits = |fields: &Vec<String>| {
        let socket = wanted[0].starts_with('/').then_some("localhost");
        fields.len() == 5
            && fields.iter().zip(wanted).enumerate().all(|(at, (field, wanted))| {
                field == "*" || field == wanted || (at == 0 && socket == Some(field.as_str()))
            })
    };
    Ok(lines.map(fields).find(fits).and_then(|mut fields| fields.pop()))
}

/// Fields between colons; a backslash takes the next character as it is.
fn fields(line: &str) -> Vec<String> {
    let mut fields = vec![String::new()];
    let mut chars = line.chars();
    while let Some(c) = chars.next() {
        match c {
            ':' if fields.len() < 5 => fields.push(String::new()),
            '\\' => fields.last_mut().expect("one field at least").extend(chars.next()),
            c => fields.last_mut().expect("one field at least").push(c),
        }
    }
    fields
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_service_is_found_and_what_is_unknown_is_refused_with_its_line() {
        let text = "# site\n[other]\nhost=a\n\n[audit]\nhost = db.example\nport=5433\nuser=tablet\n";
        let members = section(text, "audit").unwrap().unwrap();
        assert_eq!((members["host"].as_str(), members["port"].as_str()), ("db.example", "5433"));
        assert_eq!(section(text, "absent"), Ok(None));
        assert_eq!(section("[audit]\nhost=a\npassword=x\n", "audit"), Err(3));
        assert_eq!(section("[audit]\nhost\n", "audit"), Err(2));
    }

    #[test]
    fn a_passfile_escapes_colons_and_backslashes() {
        assert_eq!(fields(r"h:1:d:u:a\:b\\c"), ["h", "1", "d", "u", r"a:b\c"]);
    }

    #[test]
    fn a_server_that_asks_for_tls_is_refused() {
        let members = [("user", "a"), ("sslmode", "require")].map(|(a, b)| (a.to_owned(), b.to_owned()));
        assert!(config(&members.into_iter().collect(), None).is_err());
    }
}
