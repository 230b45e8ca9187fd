//! The door: TLS, and on the same port plain HTTP for whoever does not trust this server yet or typed `http:`.
use super::Tls;
use axum::Router;
use axum_server::{Handle, accept::Accept};
use std::{
    io,
    net::SocketAddr,
    pin::Pin,
    sync::Arc,
    task::{Context, Poll},
    time::Duration,
};
use tokio::{
    io::{AsyncRead, AsyncWrite, ReadBuf},
    net::TcpStream,
    time::timeout,
};
use tokio_rustls::{LazyConfigAcceptor, rustls::server::Acceptor, server::TlsStream};
use tower_http::add_extension::AddExtension;

/// How a request came in; among the request's extensions where the server speaks TLS.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carried {
    /// Encrypted.
    Tls,
    /// Unencrypted, at the port written here.
    Plain(u16),
}

/// First byte of a TLS handshake record (RFC 8446, 5.1); a request in plain HTTP begins with a letter.
const HANDSHAKE: u8 = 22;
/// Who has not said hello by then does not want anything.
const HELLO: Duration = Duration::from_secs(10);
/// How long open connections may go on when the server stops.
const GRACE: Duration = Duration::from_millis(2500);

/// Serves until `stop`.
pub async fn serve(
    listener: std::net::TcpListener,
    tls: Arc<Tls>,
    router: Router,
    stop: impl Future<Output = ()> + Send + 'static,
) -> io::Result<()> {
    let handle = Handle::<SocketAddr>::new();
    let stopping = handle.clone();
    tokio::spawn(async move {
        stop.await;
        stopping.graceful_shutdown(Some(GRACE));
    });
    axum_server::from_tcp(listener)?
        .acceptor(Door(tls))
        .handle(handle)
        .serve(router.into_make_service())
        .await
}

#[derive(Clone)]
struct Door(Arc<Tls>);

impl<S: Send + 'static> Accept<TcpStream, S> for Door {
    type Stream = Line;
    type Service = AddExtension<S, Carried>;
    type Future = Pin<Box<dyn Future<Output = io::Result<(Line, Self::Service)>> + Send>>;

    fn accept(&self, stream: TcpStream, service: S) -> Self::Future {
        let tls = self.0.clone();
        Box::pin(async move {
            let (line, carried) = timeout(HELLO, hello(&tls, stream))
                .await
                .map_err(|_| io::ErrorKind::TimedOut)??;
            Ok((line, AddExtension::new(service, carried)))
        })
    }
}

async fn hello(tls: &Tls, stream: TcpStream) -> io::Result<(Line, Carried)> {
    stream.set_nodelay(true)?;
    let here = stream.local_addr()?;
    let mut first = [0];
    if stream.peek(&mut first).await? == 0 {
        return Err(io::ErrorKind::UnexpectedEof.into());
    }
    if first[0] != HANDSHAKE {
        return Ok((Line::Plain(stream), Carried::Plain(here.port())));
    }
    let start = LazyConfigAcceptor::new(Acceptor::default(), stream).await?;
    let config = tls
        .config(start.client_hello().server_name(), here.ip())
        .ok_or(io::ErrorKind::NotFound)?;
    Ok((
        Line::Tls(Box::new(start.into_stream(config).await?)),
        Carried::Tls,
    ))
}

/// A connection of either kind.
enum Line {
    Tls(Box<TlsStream<TcpStream>>),
    Plain(TcpStream),
}

impl AsyncRead for Line {
    fn poll_read(
        self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Line::Tls(s) => Pin::new(s).poll_read(cx, buf),
            Line::Plain(s) => Pin::new(s).poll_read(cx, buf),
        }
    }
}

impl AsyncWrite for Line {
    fn poll_write(
        self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &[u8],
    ) -> Poll<io::Result<usize>> {
        match self.get_mut() {
            Line::Tls(s) => Pin::new(s).poll_write(cx, buf),
            Line::Plain(s) => Pin::new(s).poll_write(cx, buf),
        }
    }

    fn poll_flush(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Line::Tls(s) => Pin::new(s).poll_flush(cx),
            Line::Plain(s) => Pin::new(s).poll_flush(cx),
        }
    }

    fn poll_shutdown(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Line::Tls(s) => Pin::new(s).poll_shutdown(cx),
            Line::Plain(s) => Pin::new(s).poll_shutdown(cx),
        }
    }
}
