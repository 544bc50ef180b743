//! Connections to the board: so many at once, and none that stays silent for good.
use std::io::{Error, ErrorKind};
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll, ready};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{Instant, Sleep, sleep};

/// Connections served at once, over all addresses; more wait until one closes. A browser opens six to one address.
pub const MOST: usize = 64;
/// A connection on which nothing was read or written for so long is closed. Longer than any answer takes.
const SILENT_FOR: Duration = Duration::from_secs(600);

/// Listener that serves a connection only when there is room for it.
pub struct Limited {
    pub listener: TcpListener,
    /// Shared by the listeners of a board.
    pub room: Arc<Semaphore>,
}

impl axum::serve::Listener for Limited {
    type Io = Connection;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Connection, SocketAddr) {
        let (stream, address) = axum::serve::Listener::accept(&mut self.listener).await;
        // Taken after it came, as the listener of the other address would hold a place for nobody. Never closed, so never an error.
        let place = Arc::clone(&self.room).acquire_owned().await.ok();
        (Connection { stream, _place: place, silent: Box::pin(sleep(SILENT_FOR)) }, address)
    }

    fn local_addr(&self) -> std::io::Result<SocketAddr> {
        self.listener.local_addr()
    }
}

/// Connection that holds its place until it is closed.
pub struct Connection {
    stream: TcpStream,
    _place: Option<OwnedSemaphorePermit>,
    /// Ends when the connection has been silent too long.
    silent: Pin<Box<Sleep>>,
}

impl Connection {
    fn heard(&mut self) {
        self.silent.as_mut().reset(Instant::now() + SILENT_FOR);
    }
}

impl AsyncRead for Connection {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<std::io::Result<()>> {
        if let Poll::Ready(read) = Pin::new(&mut self.stream).poll_read(context, buffer) {
            self.heard();
            return Poll::Ready(read);
        }
        ready!(self.silent.as_mut().poll(context));
        Poll::Ready(Err(Error::from(ErrorKind::TimedOut)))
    }
}

impl AsyncWrite for Connection {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<std::io::Result<usize>> {
        let written = ready!(Pin::new(&mut self.stream).poll_write(context, bytes));
        self.heard();
        Poll::Ready(written)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<std::io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<std::io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[std::io::IoSlice<'_>],
    ) -> Poll<std::io::Result<usize>> {
        let written = ready!(Pin::new(&mut self.stream).poll_write_vectored(context, bytes));
        self.heard();
        Poll::Ready(written)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }
}
