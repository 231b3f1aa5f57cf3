//! The thread that accepts connections, and the handle that stops it.

use super::association::{Association, Shared};
use super::keeper::Keeper;
use super::wire::Stream;
use crate::ports::{ReceiveError, Receiving, Reception};
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustls::{ServerConfig, ServerConnection, StreamOwned};
use std::io;
use std::net::{IpAddr, SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread::JoinHandle;

/// Connections beyond those with an association: they are asking for one, or are being refused.
const ASKING_MAX: usize = 16;
/// How long the accepting thread waits before it looks whether it is to stop.
const LOOK: Timespec = Timespec { tv_sec: 0, tv_nsec: 100_000_000 };

/// A receiver that runs.
pub(super) struct Listening {
    port: u16,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Receiving for Listening {
    fn port(&self) -> u16 {
        self.port
    }

    fn stop(self: Box<Self>) {
        // Dropping stops and waits.
    }
}

impl Drop for Listening {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            // A thread that panicked has ended too; what it acknowledged is durable.
            let _ = thread.join();
        }
    }
}

/// Listens, and serves on threads of its own.
pub(super) fn start(
    reception: Reception,
    secure: Option<Arc<ServerConfig>>,
    keeper: Keeper,
) -> Result<Listening, ReceiveError> {
    let address = SocketAddr::new(reception.settings.address, reception.settings.port);
    let failed = |fault| ReceiveError::Listen { address: address.to_string(), fault };
    let listener = TcpListener::bind(address).map_err(failed)?;
    listener.set_nonblocking(true).map_err(failed)?;
    let port = listener.local_addr().map_err(failed)?.port();
    let stop = Arc::new(AtomicBool::new(false));
    let shared = Shared {
        settings: reception.settings,
        tell: reception.tell,
        stop: stop.clone(),
        keeper: Arc::new(keeper),
        associations: Arc::new(AtomicUsize::new(0)),
    };
    let run = move || {
        std::thread::scope(|scope| accept(scope, &listener, secure.as_ref(), shared));
    };
    let thread = std::thread::Builder::new().name("receiver".to_owned()).spawn(run).map_err(failed)?;
    Ok(Listening { port, stop, thread: Some(thread) })
}

/// Accepts until it is to stop.
fn accept<'scope>(
    scope: &'scope std::thread::Scope<'scope, '_>,
    listener: &TcpListener,
    secure: Option<&Arc<ServerConfig>>,
    shared: Shared,
) {
    let open = Arc::new(AtomicUsize::new(0));
    let limit = shared.settings.associations as usize + ASKING_MAX;
    while !shared.stop.load(Ordering::Relaxed) {
        let mut waiting = [PollFd::new(listener, PollFlags::IN)];
        // Whatever the wait says, accepting tells what there is.
        let _ = poll(&mut waiting, Some(&LOOK));
        let Ok((socket, from)) = listener.accept() else { continue };
        if open.load(Ordering::Relaxed) >= limit {
            // Dropped at once: whoever holds this many connections open is not served.
            continue;
        }
        let guard = Counted::one_more(&open);
        let (shared, secure) = (shared.clone(), secure.cloned());
        let serve = move || {
            let _guard = guard;
            serve(&shared, socket, secure, from.ip());
        };
        // Without a thread the connection is closed, and the sender tries again.
        let _ = std::thread::Builder::new().name("association".to_owned()).spawn_scoped(scope, serve);
    }
}

fn serve(shared: &Shared, socket: TcpStream, secure: Option<Arc<ServerConfig>>, from: IpAddr) {
    let opened = stream_of(socket, secure).and_then(|(stream, socket)| Association::new(shared, stream, &socket, from));
    // A connection that cannot be set up is closed, and the sender tries again.
    if let Ok(association) = opened {
        association.run();
    }
}

fn stream_of(socket: TcpStream, secure: Option<Arc<ServerConfig>>) -> io::Result<(Box<dyn Stream>, TcpStream)> {
    socket.set_nonblocking(false)?;
    // Answers are short and wait for nothing.
    socket.set_nodelay(true)?;
    let handle = socket.try_clone()?;
    let stream: Box<dyn Stream> = match secure {
        None => Box::new(socket),
        Some(config) => {
            let connection = ServerConnection::new(config).map_err(io::Error::other)?;
            Box::new(StreamOwned::new(connection, socket))
        }
    };
    Ok((stream, handle))
}

/// Counts something for as long as it lives.
pub(super) struct Counted(Arc<AtomicUsize>);

impl Counted {
    pub fn one_more(count: &Arc<AtomicUsize>) -> Self {
        count.fetch_add(1, Ordering::Relaxed);
        Self(count.clone())
    }

    /// One more, unless there are `max` already.
    pub fn below(count: &Arc<AtomicUsize>, max: usize) -> Option<Self> {
        let added = count.fetch_update(Ordering::Relaxed, Ordering::Relaxed, |n| (n < max).then_some(n + 1));
        added.ok().map(|_| Self(count.clone()))
    }
}

impl Drop for Counted {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::Relaxed);
    }
}
