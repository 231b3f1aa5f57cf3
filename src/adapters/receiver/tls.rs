//! TLS where certificates are given; without them the connection is plain.

use crate::ports::{Disk, ReceiveError};
use crate::settings::ReceiveSettings;
use rustls::RootCertStore;
use rustls::ServerConfig;
use rustls::crypto::ring;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::server::WebPkiClientVerifier;
use std::path::Path;
use std::sync::Arc;

/// A PEM file is short; a chain of certificates has a few kilobytes.
const PEM_MAX: u64 = 1 << 20;

/// The configuration of TLS, or `None` if no certificate is given.
///
/// # Errors
/// [`ReceiveError::Setting`] naming the member whose file does not do.
pub(super) fn config(settings: &ReceiveSettings, disk: &dyn Disk) -> Result<Option<Arc<ServerConfig>>, ReceiveError> {
    let wrong = |member, reason: String| ReceiveError::Setting { member, reason };
    let (certificate, key) = match (&settings.certificate, &settings.key) {
        (Some(certificate), Some(key)) => (certificate, key),
        (None, None) if settings.clients.is_none() => return Ok(None),
        (None, _) => return Err(wrong("certificate", "missing, though TLS is asked for".to_owned())),
        (_, None) => return Err(wrong("key", "missing, though TLS is asked for".to_owned())),
    };
    let chain = certificates(certificate, "certificate", disk)?;
    let key = PrivateKeyDer::from_pem_slice(&pem(key, "key", disk)?)
        .map_err(|fault| wrong("key", format!("{}: {fault}", key.display())))?;
    let provider = Arc::new(ring::default_provider());
    let builder = ServerConfig::builder_with_provider(provider.clone())
        .with_safe_default_protocol_versions()
        .map_err(|fault| wrong("certificate", fault.to_string()))?;
    let builder = match &settings.clients {
        None => builder.with_no_client_auth(),
        Some(clients) => {
            let mut roots = RootCertStore::empty();
            for root in certificates(clients, "clients", disk)? {
                roots.add(root).map_err(|fault| wrong("clients", fault.to_string()))?;
            }
            let verifier = WebPkiClientVerifier::builder_with_provider(Arc::new(roots), provider)
                .build()
                .map_err(|fault| wrong("clients", fault.to_string()))?;
            builder.with_client_cert_verifier(verifier)
        }
    };
    let config = builder.with_single_cert(chain, key).map_err(|fault| wrong("certificate", fault.to_string()))?;
    Ok(Some(Arc::new(config)))
}

fn pem(path: &Path, member: &'static str, disk: &dyn Disk) -> Result<Vec<u8>, ReceiveError> {
    let wrong = |reason: String| ReceiveError::Setting { member, reason: format!("{}: {reason}", path.display()) };
    disk.read(path, PEM_MAX).map_err(|fault| wrong(fault.to_string()))
}

fn certificates(
    path: &Path,
    member: &'static str,
    disk: &dyn Disk,
) -> Result<Vec<CertificateDer<'static>>, ReceiveError> {
    let wrong = |reason: String| ReceiveError::Setting { member, reason: format!("{}: {reason}", path.display()) };
    let bytes = pem(path, member, disk)?;
    let read: Result<Vec<_>, _> = CertificateDer::pem_slice_iter(&bytes).collect();
    let read = read.map_err(|fault| wrong(fault.to_string()))?;
    if read.is_empty() { Err(wrong("no certificate".to_owned())) } else { Ok(read) }
}
