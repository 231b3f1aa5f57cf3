//! The index of a hospital with many tablets: a PostgreSQL database reached by a libpq service name.
//!
//! It holds each record's bytes by its payload digest, and tables derived from them. A push takes a lock against other
//! pushes for as long as its transaction lasts, so that two tablets that bring one record at once join it instead of
//! losing or doubling it; readers never wait.

mod service;

use super::index_words::kind_word;
use crate::review::{Cache, Index, IndexError, Merge, Pushed, Row, Stored, outcome};
use postgres::{Client, GenericClient, NoTls, Transaction};
use std::collections::BTreeMap;
use std::path::Path;

/// Every migration, in order; the number of the last is the version of the index.
const MIGRATIONS: [&str; 1] = [include_str!("migrations/postgres-0001.sql")];
/// A number of our own for the lock that guards migrations.
const MIGRATION_LOCK: i64 = 0x6272_696d_6c69_6e65;

/// An index on a server.
pub struct PostgresIndex {
    client: Client,
}

impl PostgresIndex {
    /// Connects to the service and brings its tables up to date.
    ///
    /// # Errors
    /// [`IndexError`] if the service is unknown, cannot be reached, or was written by a newer program.
    pub fn open(service: &str, environment: &BTreeMap<String, String>) -> Result<Self, IndexError> {
        let config = service::connection(service, environment)?;
        let mut client = config.connect(NoTls).map_err(|fault| said(&fault))?;
        migrate(&mut client)?;
        Ok(Self { client })
    }
}

fn said(fault: &postgres::Error) -> IndexError {
    let reason = fault.as_db_error().map_or_else(|| fault.to_string(), |at| at.message().to_owned());
    IndexError::Unusable { reason }
}

fn migrate(client: &mut Client) -> Result<(), IndexError> {
    let newest = u32::try_from(MIGRATIONS.len()).unwrap_or(u32::MAX);
    let mut run = || {
        let mut transaction = client.transaction()?;
        transaction.execute("SELECT pg_advisory_xact_lock($1)", &[&MIGRATION_LOCK])?;
        transaction.batch_execute("CREATE TABLE IF NOT EXISTS migration (number integer PRIMARY KEY)")?;
        let found: i32 = transaction.query_one("SELECT coalesce(max(number), 0) FROM migration", &[])?.get(0);
        let done = usize::try_from(found).unwrap_or(usize::MAX);
        for (at, sql) in MIGRATIONS.iter().enumerate().skip(done) {
            transaction.batch_execute(sql)?;
            let number = i32::try_from(at + 1).unwrap_or(i32::MAX);
            transaction.execute("INSERT INTO migration VALUES ($1)", &[&number])?;
        }
        transaction.commit()?;
        Ok(u32::try_from(found).unwrap_or(u32::MAX))
    };
    let found = run().map_err(|fault| said(&fault))?;
    if found > newest { Err(IndexError::Newer { found, newest }) } else { Ok(()) }
}

fn row_of(digest: &str, bytes: &[u8]) -> Result<Row, IndexError> {
    Row::from_bytes(bytes).map_err(|fault| IndexError::Damaged { reason: format!("{digest}: {fault}") })
}

fn get(client: &mut impl GenericClient, digest: &str) -> Result<Option<Stored>, IndexError> {
    let sql = "SELECT record.bytes, case_row.bytes FROM record LEFT JOIN case_row USING (digest) WHERE digest = $1";
    let Some(found) = client.query_opt(sql, &[&digest]).map_err(|fault| said(&fault))? else { return Ok(None) };
    let sql = "SELECT digest, bytes FROM addendum WHERE record = $1 ORDER BY digest COLLATE \"C\"";
    let addenda = client.query(sql, &[&digest]).map_err(|fault| said(&fault))?;
    let addenda = addenda.iter().map(|row| (row.get(0), row.get(1))).collect();
    let row = found.get::<_, Option<&[u8]>>(1).and_then(|bytes| Row::from_bytes(bytes).ok());
    Ok(Some(Stored { record: found.get(0), addenda, row }))
}

fn put(transaction: &mut Transaction<'_>, digest: &str, stored: &Stored) -> Result<(), postgres::Error> {
    let sql = "INSERT INTO record VALUES ($1, $2) ON CONFLICT (digest) DO UPDATE SET bytes = excluded.bytes";
    transaction.execute(sql, &[&digest, &stored.record])?;
    let sql = "INSERT INTO addendum VALUES ($1, $2, $3) ON CONFLICT (digest) DO UPDATE SET bytes = excluded.bytes";
    for (own, bytes) in &stored.addenda {
        transaction.execute(sql, &[own, &digest, bytes])?;
    }
    let sql = "INSERT INTO case_row VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT (digest) DO UPDATE SET \
               kind = excluded.kind, outcome = excluded.outcome, pathway = excluded.pathway, \
               opened_ms = excluded.opened_ms, shots = excluded.shots, bytes = excluded.bytes";
    let Some(row) = &stored.row else { return Ok(()) };
    let (kind, ended) = (kind_word(row.kind()), outcome(row.outcome()));
    let (pathway, opened, shots) = (row.pathway(), row.opened_ms(), i64::from(row.shots()));
    transaction.execute(sql, &[&digest, &kind, &ended, &pathway, &opened, &shots, &row.to_bytes()])?;
    Ok(())
}

impl Index for PostgresIndex {
    fn push(&mut self, digests: &[String], merge: Merge<'_>) -> Result<Vec<Pushed>, IndexError> {
        let mut transaction = self.client.transaction().map_err(|fault| said(&fault))?;
        transaction.batch_execute("LOCK TABLE record IN SHARE ROW EXCLUSIVE MODE").map_err(|fault| said(&fault))?;
        let mut answers = Vec::new();
        for (at, digest) in digests.iter().enumerate() {
            let standing = get(&mut transaction, digest)?;
            let answer = match merge(at, standing.clone()) {
                None => Pushed::LeftOut,
                Some(stored) if standing.as_ref() == Some(&stored) => Pushed::Known,
                Some(stored) => {
                    put(&mut transaction, digest, &stored).map_err(|fault| said(&fault))?;
                    if standing.is_some() { Pushed::Extended } else { Pushed::New }
                }
            };
            answers.push(answer);
        }
        transaction.commit().map_err(|fault| said(&fault))?;
        Ok(answers)
    }

    fn get(&mut self, digest: &str) -> Result<Option<Stored>, IndexError> {
        get(&mut self.client, digest)
    }

    fn digests(&mut self) -> Result<Vec<String>, IndexError> {
        let sql = "SELECT digest FROM record ORDER BY digest COLLATE \"C\"";
        let rows = self.client.query(sql, &[]).map_err(|fault| said(&fault))?;
        Ok(rows.iter().map(|row| row.get(0)).collect())
    }

    fn cache(&mut self) -> Result<Cache, IndexError> {
        let sql = "SELECT digest, bytes FROM case_row ORDER BY digest COLLATE \"C\"";
        let rows = self.client.query(sql, &[]).map_err(|fault| said(&fault))?;
        let mut cache = Cache::default();
        for row in rows {
            cache.push(&row_of(row.get(0), row.get(1))?);
        }
        Ok(cache)
    }

    fn fault(&mut self) -> Result<Option<String>, IndexError> {
        let sql = "SELECT count(*) FROM record LEFT JOIN case_row USING (digest) WHERE kind IS NULL";
        let orphans: i64 = self.client.query_one(sql, &[]).map_err(|fault| said(&fault))?.get(0);
        Ok((orphans > 0).then(|| format!("{orphans} records without a row")))
    }

    fn copy_to(&mut self, _path: &Path) -> Result<(), IndexError> {
        Err(IndexError::Unusable { reason: "an index on a server is backed up by the server's own means".to_owned() })
    }
}
