//! The server from its first word to its last.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tokio::net::TcpListener;

use crate::app::App;
use crate::error::PageError;
use crate::guard::Key;
use crate::place::Root;
use crate::routes::routes;

/// What is served, and where.
#[derive(Debug, Clone)]
pub struct Wish<'a> {
    /// The folder of runs.
    pub folder: &'a Path,
    /// The port; 0 takes a free one.
    pub port: u16,
    /// This program, for its children.
    pub program: PathBuf,
}

/// Serves until Ctrl-C or a wish to end; `said` hears the address to open, once it can be opened.
///
/// # Errors
/// The folder is not there or the port is taken.
pub fn serve(wish: &Wish<'_>, said: impl FnOnce(&str)) -> Result<(), PageError> {
    let root = Root::at(wish.folder)?;
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    let runtime = runtime.map_err(|cause| begin("threads", cause))?;
    let done = runtime.block_on(async {
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, wish.port));
        let listener = TcpListener::bind(address).await;
        let listener = listener.map_err(|cause| begin(&address.to_string(), cause))?;
        let port = listener
            .local_addr()
            .map_err(|cause| begin("the port", cause))?
            .port();
        let key = Key::new(port).map_err(|cause| begin("a key", cause))?;
        let address = key.address();
        let app = Arc::new(App::new(root, key, wish.program.clone()));
        tokio::spawn(app.queue.clone().work());
        said(&address);
        tokio::select! {
            served = axum::serve(listener, routes(app)) => served.map_err(|cause| begin("requests", cause)),
            // Pages that follow the queue never close by themselves, so nothing is waited for.
            () = asked_to_end() => Ok(()),
        }
    });
    runtime.shutdown_background();
    done
}

fn begin(what: &str, cause: std::io::Error) -> PageError {
    PageError::Begin {
        what: what.to_owned(),
        cause,
    }
}

async fn asked_to_end() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let ended = async {
            match signal(SignalKind::terminate()) {
                Ok(mut ended) => drop(ended.recv().await),
                Err(_) => std::future::pending().await,
            }
        };
        tokio::select! {
            _ = tokio::signal::ctrl_c() => {}
            () = ended => {}
        }
    }
    #[cfg(not(unix))]
    {
        let _ = tokio::signal::ctrl_c().await;
    }
}
