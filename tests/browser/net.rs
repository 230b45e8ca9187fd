//! The network between a tablet and the server, to be cut at will: a TCP proxy of the test's.
use std::{
    net::SocketAddr,
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
};
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::{TcpListener, TcpStream},
    sync::watch,
};

/// What becomes of what is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Network {
    /// It passes.
    Up,
    /// Nobody answers the door, and open lines are cut.
    Down,
    /// Lines stay open, and nothing passes.
    Silent,
    /// What is asked arrives; the answer is cut off at its first byte.
    AnswersLost,
}

/// The way to a server.
pub struct Net {
    /// Where a browser comes in.
    pub address: String,
    state: watch::Sender<Network>,
    cut: Arc<AtomicUsize>,
    task: tokio::task::JoinHandle<()>,
}

impl Net {
    /// A way to the server at this address ("http://127.0.0.1:port").
    pub async fn to(server: &str) -> Self {
        let server: SocketAddr = server
            .trim_start_matches("http://")
            .parse()
            .expect("an address");
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let address = format!("http://{}", listener.local_addr().expect("an address"));
        let (state, seen) = watch::channel(Network::Up);
        let cut = Arc::new(AtomicUsize::new(0));
        let counter = cut.clone();
        let task = tokio::spawn(async move {
            while let Ok((line, _)) = listener.accept().await {
                tokio::spawn(pass(line, server, seen.clone(), counter.clone()));
            }
        });
        Self {
            address,
            state,
            cut,
            task,
        }
    }

    /// How many answers were cut off: what was asked had arrived.
    pub fn answers_lost(&self) -> usize {
        self.cut.load(Ordering::SeqCst)
    }

    /// From now on the network is like this.
    pub fn is(&self, network: Network) {
        self.state.send_replace(network);
    }
}

impl Drop for Net {
    fn drop(&mut self) {
        self.task.abort();
    }
}

async fn pass(
    mut tablet: TcpStream,
    server: SocketAddr,
    mut network: watch::Receiver<Network>,
    cut: Arc<AtomicUsize>,
) {
    if *network.borrow_and_update() == Network::Down {
        return;
    }
    let Ok(mut server) = TcpStream::connect(server).await else {
        return;
    };
    let (mut asked, mut answered) = (vec![0; 16 << 10], vec![0; 16 << 10]);
    loop {
        let now = *network.borrow_and_update();
        let open = tokio::select! {
            changed = network.changed() => changed.is_ok(),
            n = tablet.read(&mut asked), if now != Network::Silent => match n {
                Ok(n) if n > 0 => server.write_all(&asked[..n]).await.is_ok(),
                _ => false,
            },
            n = server.read(&mut answered), if now != Network::Silent => match n {
                Ok(n) if n > 0 && now == Network::Up => tablet.write_all(&answered[..n]).await.is_ok(),
                Ok(n) if n > 0 => {
                    cut.fetch_add(1, Ordering::SeqCst);
                    false
                }
                _ => false,
            },
        };
        if !open || *network.borrow() == Network::Down {
            return;
        }
    }
}
