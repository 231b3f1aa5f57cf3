//! The index of one tablet: an embedded SQLite file.
//!
//! Records stand in it as bytes; rows are derived from them and can be made again. Migrations are numbered SQL files;
//! a file of a newer number is left untouched.

use super::index_words::kind_word;
use crate::review::{Cache, Index, IndexError, Merge, Pushed, Row, Stored, outcome};
use rusqlite::{Connection, OpenFlags, OptionalExtension, Transaction, TransactionBehavior, params};
use std::fs::{File, OpenOptions};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::time::Duration;

/// Every migration, in order; the number of the last is the version of the index.
const MIGRATIONS: [&str; 1] = [include_str!("migrations/sqlite-0001.sql")];
/// How the file is kept. A record has some 60 KB: with pages of 16 KiB it takes a quarter of the writes that the usual
/// 4 KiB ask for. The size holds for a file that is made now; one that is there keeps its own.
const BEGIN: &str = "PRAGMA page_size = 16384; PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; \
                     PRAGMA foreign_keys = ON;";
/// How long another process may hold the file before this one gives up.
const PATIENCE: Duration = Duration::from_secs(10);

/// An index in a file.
pub struct SqliteIndex {
    connection: Connection,
}

impl SqliteIndex {
    /// Opens the file, and with `create` makes a new one with mode 0600 if there is none.
    ///
    /// # Errors
    /// [`IndexError`] if it cannot be opened, is no index, or was written by a newer program.
    pub fn open(path: &Path, create: bool) -> Result<Self, IndexError> {
        if create {
            let made = OpenOptions::new().write(true).create(true).truncate(false).mode(0o600).open(path);
            made.map_err(|fault| unusable(&format!("{}: {fault}", path.display())))?;
        } else if !path.exists() {
            return Err(unusable(&format!("{}: there is none yet; `brimline review import` makes it", path.display())));
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut connection = Connection::open_with_flags(path, flags).map_err(|fault| said(&fault))?;
        connection.busy_timeout(PATIENCE).map_err(|fault| said(&fault))?;
        connection.execute_batch(BEGIN).map_err(|fault| said(&fault))?;
        migrate(&mut connection)?;
        Ok(Self { connection })
    }
}

fn migrate(connection: &mut Connection) -> Result<(), IndexError> {
    let run = |connection: &mut Connection| {
        let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let found: u32 = transaction.query_row("PRAGMA user_version", [], |row| row.get(0))?;
        let done = usize::try_from(found).unwrap_or(usize::MAX);
        for (number, sql) in MIGRATIONS.iter().enumerate().skip(done) {
            transaction.execute_batch(sql)?;
            transaction.execute_batch(&format!("PRAGMA user_version = {}", number + 1))?;
        }
        transaction.commit()?;
        Ok(found)
    };
    let found = run(connection).map_err(|fault| said(&fault))?;
    let newest = u32::try_from(MIGRATIONS.len()).unwrap_or(u32::MAX);
    if found > newest { Err(IndexError::Newer { found, newest }) } else { Ok(()) }
}

fn unusable(reason: &str) -> IndexError {
    IndexError::Unusable { reason: reason.to_owned() }
}

fn said(fault: &rusqlite::Error) -> IndexError {
    let reason = fault.to_string();
    match fault.sqlite_error_code() {
        Some(rusqlite::ErrorCode::DatabaseCorrupt | rusqlite::ErrorCode::NotADatabase) => {
            IndexError::Damaged { reason }
        }
        _ => IndexError::Unusable { reason },
    }
}

fn row_of(digest: &str, bytes: &[u8]) -> Result<Row, IndexError> {
    Row::from_bytes(bytes).map_err(|fault| IndexError::Damaged { reason: format!("{digest}: {fault}") })
}

fn get(connection: &Connection, digest: &str) -> Result<Option<Stored>, IndexError> {
    let sql = "SELECT record.bytes, case_row.bytes FROM record LEFT JOIN case_row USING (digest) WHERE digest = ?1";
    let mut select = connection.prepare_cached(sql).map_err(|fault| said(&fault))?;
    let found: Option<(Vec<u8>, Option<Vec<u8>>)> =
        select.query_row([digest], |row| Ok((row.get(0)?, row.get(1)?))).optional().map_err(|fault| said(&fault))?;
    let Some((record, row)) = found else { return Ok(None) };
    let sql = "SELECT digest, bytes FROM addendum WHERE record = ?1 ORDER BY digest";
    let mut select = connection.prepare_cached(sql).map_err(|fault| said(&fault))?;
    let addenda = select.query_map([digest], |row| Ok((row.get(0)?, row.get(1)?))).map_err(|fault| said(&fault))?;
    let addenda = addenda.collect::<Result<Vec<_>, _>>().map_err(|fault| said(&fault))?;
    let row = row.and_then(|bytes| Row::from_bytes(&bytes).ok());
    Ok(Some(Stored { record, addenda, row }))
}

fn put(transaction: &Transaction<'_>, digest: &str, stored: &Stored) -> rusqlite::Result<()> {
    let sql = "INSERT INTO record VALUES (?1, ?2) ON CONFLICT (digest) DO UPDATE SET bytes = excluded.bytes";
    transaction.prepare_cached(sql)?.execute(params![digest, stored.record])?;
    let sql = "INSERT INTO addendum VALUES (?1, ?2, ?3) ON CONFLICT (digest) DO UPDATE SET bytes = excluded.bytes";
    for (own, bytes) in &stored.addenda {
        transaction.prepare_cached(sql)?.execute(params![own, digest, bytes])?;
    }
    let sql = "INSERT INTO case_row VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7) ON CONFLICT (digest) DO UPDATE SET \
               kind = excluded.kind, outcome = excluded.outcome, pathway = excluded.pathway, \
               opened_ms = excluded.opened_ms, shots = excluded.shots, bytes = excluded.bytes";
    let Some(row) = &stored.row else { return Ok(()) };
    let (kind, ended) = (kind_word(row.kind()), outcome(row.outcome()));
    let columns = params![digest, kind, ended, row.pathway(), row.opened_ms(), row.shots(), row.to_bytes()];
    transaction.prepare_cached(sql)?.execute(columns)?;
    Ok(())
}

impl Index for SqliteIndex {
    fn push(&mut self, digests: &[String], merge: Merge<'_>) -> Result<Vec<Pushed>, IndexError> {
        let transaction =
            self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(|fault| said(&fault))?;
        let mut answers = Vec::new();
        for (at, digest) in digests.iter().enumerate() {
            let standing = get(&transaction, digest)?;
            let answer = match merge(at, standing.clone()) {
                None => Pushed::LeftOut,
                Some(stored) if standing.as_ref() == Some(&stored) => Pushed::Known,
                Some(stored) => {
                    put(&transaction, digest, &stored).map_err(|fault| said(&fault))?;
                    if standing.is_some() { Pushed::Extended } else { Pushed::New }
                }
            };
            answers.push(answer);
        }
        transaction.commit().map_err(|fault| said(&fault))?;
        Ok(answers)
    }

    fn get(&mut self, digest: &str) -> Result<Option<Stored>, IndexError> {
        get(&self.connection, digest)
    }

    fn digests(&mut self) -> Result<Vec<String>, IndexError> {
        let mut select = self
            .connection
            .prepare_cached("SELECT digest FROM record ORDER BY digest")
            .map_err(|fault| said(&fault))?;
        let digests = select.query_map([], |row| row.get(0)).map_err(|fault| said(&fault))?;
        digests.collect::<Result<Vec<_>, _>>().map_err(|fault| said(&fault))
    }

    fn cache(&mut self) -> Result<Cache, IndexError> {
        let sql = "SELECT digest, bytes FROM case_row ORDER BY digest";
        let mut select = self.connection.prepare_cached(sql).map_err(|fault| said(&fault))?;
        let mut rows = select.query([]).map_err(|fault| said(&fault))?;
        let mut cache = Cache::default();
        while let Some(row) = rows.next().map_err(|fault| said(&fault))? {
            let bytes = row.get_ref(1).and_then(|value| Ok(value.as_blob()?)).map_err(|fault| said(&fault))?;
            let digest = row.get_ref(0).and_then(|value| Ok(value.as_str()?)).map_err(|fault| said(&fault))?;
            cache.push(&row_of(digest, bytes)?);
        }
        Ok(cache)
    }

    fn fault(&mut self) -> Result<Option<String>, IndexError> {
        let check = |sql| self.connection.query_row(sql, [], |row| row.get::<_, String>(0)).optional();
        let pages = check("PRAGMA integrity_check(1)").map_err(|fault| said(&fault))?;
        let orphans = self
            .connection
            .query_row("SELECT count(*) FROM record LEFT JOIN case_row USING (digest) WHERE kind IS NULL", [], |row| {
                row.get::<_, i64>(0)
            })
            .map_err(|fault| said(&fault))?;
        let torn = pages.filter(|answer| answer != "ok");
        Ok(torn.or_else(|| (orphans > 0).then(|| format!("{orphans} records without a row"))))
    }

    fn copy_to(&mut self, path: &Path) -> Result<(), IndexError> {
        let text = path.to_str().ok_or_else(|| unusable("the path is not UTF-8"))?;
        let failed = |fault: std::io::Error| unusable(&format!("{}: {fault}", path.display()));
        OpenOptions::new().write(true).create_new(true).mode(0o600).open(path).map_err(failed)?;
        self.connection.execute("VACUUM INTO ?1", [text]).map_err(|fault| said(&fault))?;
        File::open(path).and_then(|file| file.sync_all()).map_err(failed)
    }
}
