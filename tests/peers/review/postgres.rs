//! The index of many tablets on a real PostgreSQL, started from Debian's package on the loopback interface.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::review_world::{Site, word};
use super::synthetic::{Model, records, roster};
use brimline::adapters::index_postgres::PostgresIndex;
use brimline::record::{self, SignedRecord};
use brimline::review::{Index, check_records};
use std::collections::BTreeMap;
use std::net::TcpListener;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A server of its own, stopped when dropped.
struct Server {
    folder: tempfile::TempDir,
    port: u16,
}

/// The newest installed server's programs.
fn programs() -> PathBuf {
    let mut found: Vec<PathBuf> = std::fs::read_dir("/usr/lib/postgresql")
        .expect("the package postgresql is installed")
        .map(|entry| entry.unwrap().path().join("bin"))
        .collect();
    found.sort();
    found.pop().expect("one version at least")
}

/// The server refuses to run as root: then it runs as the package's own user.
fn as_server(program: &Path) -> Command {
    if rustix::process::geteuid().is_root() {
        let mut command = Command::new("runuser");
        command.args(["-u", "postgres", "--"]).arg(program);
        command
    } else {
        Command::new(program)
    }
}

fn done(command: &mut Command) {
    let output = command.stdin(Stdio::null()).output().expect("the server's program starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

impl Server {
    fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::set_permissions(folder.path(), PermissionsExt::from_mode(0o755)).unwrap();
        let password = folder.path().join("password");
        std::fs::write(&password, "not-a-secret\n").unwrap();
        let data = folder.path().join("data");
        std::fs::create_dir(&data).unwrap();
        if rustix::process::geteuid().is_root() {
            done(Command::new("chown").arg("postgres").arg(&data).arg(&password));
        }
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let init = programs().join("initdb");
        let flags = ["--username=tablet", "--auth=scram-sha-256", "--encoding=UTF8", "--no-locale", "--no-sync"];
        done(as_server(&init).args(flags).arg("--pwfile").arg(&password).arg("-D").arg(&data));
        let options = format!("-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories= -c fsync=off");
        let control = programs().join("pg_ctl");
        let log = data.join("log");
        let mut start = as_server(&control);
        start.args(["start", "-w", "-D"]).arg(&data).arg("-l").arg(log).arg("-o").arg(options).stdout(Stdio::null());
        assert!(start.stderr(Stdio::null()).stdin(Stdio::null()).status().unwrap().success(), "the server starts");
        Self { folder, port }
    }

    /// The environment of a tablet: a service file, and a passfile of the mode it must have.
    fn environment(&self) -> BTreeMap<String, String> {
        let (services, passfile) = (self.folder.path().join("services"), self.folder.path().join("passfile"));
        let service = format!("[audit]\nhost=127.0.0.1\nport={}\nuser=tablet\ndbname=postgres\n", self.port);
        std::fs::write(&services, service).unwrap();
        std::fs::write(&passfile, format!("127.0.0.1:{}:*:tablet:not-a-secret\n", self.port)).unwrap();
        std::fs::set_permissions(&passfile, PermissionsExt::from_mode(0o600)).unwrap();
        let path = |path: PathBuf| path.to_str().unwrap().to_owned();
        [("PGSERVICEFILE".to_owned(), path(services)), ("PGPASSFILE".to_owned(), path(passfile))].into()
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let control = programs().join("pg_ctl");
        let data = self.folder.path().join("data");
        let _ = as_server(&control).args(["stop", "-m", "immediate", "-D"]).arg(data).output();
    }
}

/// [R-REVIEW-8]
#[test]
#[ignore = "needs the package postgresql, as the other peers need theirs"]
fn the_commands_say_on_postgresql_what_they_say_on_the_embedded_index() {
    let server = Server::start();
    let mut site = Site::new();
    site.environment = server.environment();
    let folder = site.write("in", &records(&Model::steady(31, 40)));
    let import = site.says(&["review", "import", word(&folder), "--index", "audit"]);
    assert_eq!((import.code, import.out.trim()), (0, "40 new, 0 extended, 0 known already, 0 left out"), "{import:?}");
    assert_eq!(site.says(&["review", "import", word(&folder)]).code, 0);
    for words in [&["summary"][..], &["summary", "--csv", "--by", "size"], &["chart", "shots"], &["rebuild"]] {
        let here: Vec<&str> = ["review"].iter().chain(words).copied().collect();
        let there: Vec<&str> = here.iter().chain(&["--index", "audit"]).copied().collect();
        let (here, there) = (site.says(&here), site.says(&there));
        assert_eq!((here.code, &here.out), (there.code, &there.out), "{words:?}: {there:?}");
    }
    let passfile = PathBuf::from(&site.environment["PGPASSFILE"]);
    std::fs::set_permissions(&passfile, PermissionsExt::from_mode(0o644)).unwrap();
    let refused = site.says(&["review", "summary", "--index", "audit"]);
    assert_eq!((refused.code, refused.err.lines().count()), (3, 1), "{refused:?}");
}

/// [R-REVIEW-8]
#[test]
#[ignore = "needs the package postgresql, as the other peers need theirs"]
fn tablets_that_push_at_once_lose_nothing_and_double_nothing() {
    let server = Server::start();
    let environment = server.environment();
    let files = records(&Model::steady(32, 30));
    let bare: Vec<Vec<u8>> =
        files.iter().map(|file| record::redact_all(SignedRecord::read(file).unwrap()).unwrap().to_bytes()).collect();
    // Four tablets begin at once, on an empty database: two with all that is disclosed, two with nothing of it, each
    // in an order of its own and in small transactions.
    std::thread::scope(|scope| {
        for tablet in 0..4 {
            let (files, environment) = (if tablet % 2 == 0 { &files } else { &bare }, &environment);
            scope.spawn(move || {
                let mut index = PostgresIndex::open("audit", environment).unwrap();
                let roster = roster();
                for at in 0..files.len() {
                    let at = (at * 7 + tablet * 11) % files.len();
                    let checked = check_records(&files[at..=at], &roster, 1).remove(0).unwrap();
                    let digest = [checked.digest().to_owned()];
                    let mut checked = Some(checked);
                    index.push(&digest, &mut |_, standing| checked.take()?.joined(standing, &roster).ok()).unwrap();
                }
            });
        }
    });
    let mut index = PostgresIndex::open("audit", &environment).unwrap();
    let digests = index.digests().unwrap();
    assert_eq!((digests.len(), index.cache().unwrap().len()), (30, 30));
    for file in &files {
        let whole = SignedRecord::read(file).unwrap();
        let stored = index.get(&whole.digest()).unwrap().unwrap();
        assert_eq!(stored.record, *file, "every disclosure is there, whoever came first");
        assert_eq!(stored.derived(&roster()).unwrap(), stored);
    }
}
