//! The one HTTP listener; plugins contribute routes to it.

use crate::run::RunError;
use std::net::{SocketAddr, TcpListener};
use std::thread::JoinHandle;
use tokio::sync::oneshot;

/// The listener at work.
pub struct Http {
    address: SocketAddr,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

/// Takes the port of `address`, which must be this machine's own (loopback): nobody is asked who they are yet.
///
/// # Errors
/// Not loopback, or the port cannot be taken.
pub fn listen(address: SocketAddr) -> Result<TcpListener, RunError> {
    if !address.ip().is_loopback() {
        return Err(RunError::NotLoopback(address));
    }
    TcpListener::bind(address).map_err(|source| RunError::Listen { address, source })
}

impl Http {
    /// Serves `routes`.
    ///
    /// # Errors
    /// Where the listener is of no use or a thread cannot be started.
    pub fn start(listener: TcpListener, routes: axum::Router) -> Result<Http, RunError> {
        let bound = listener.local_addr()?;
        let trouble = |source| RunError::Listen { address: bound, source };
        listener.set_nonblocking(true).map_err(trouble)?;
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(trouble)?;
        let (stop, stopped) = oneshot::channel::<()>();
        let serve = async move {
            match tokio::net::TcpListener::from_std(listener) {
                Ok(listener) => {
                    let server = axum::serve(listener, routes);
                    tokio::select! {
                        r = server => if let Err(e) = r { tracing::error!("the HTTP listener ended: {e}") },
                        _ = stopped => {}
                    }
                }
                Err(e) => tracing::error!("the HTTP listener cannot start: {e}"),
            }
        };
        let thread = std::thread::Builder::new().name("http".to_owned()).spawn(move || runtime.block_on(serve));
        Ok(Http { address: bound, stop: Some(stop), thread: Some(thread.map_err(trouble)?) })
    }

    /// Where it listens.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// Ends it; requests in progress are cut off.
    pub fn close(mut self) {
        self.stop = None;
        if let Some(t) = self.thread.take()
            && t.join().is_err()
        {
            tracing::error!("the HTTP thread panicked");
        }
    }
}
