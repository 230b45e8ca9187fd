//! TLS without anybody's help: an authority of this server's own, certificates for all its names and addresses, the door behind which they are served.
//!
//! The first authority is made for the ways in that there are on that day, and can vouch for nothing else. A way in that comes later (a new address) gets
//! a further authority for itself alone: whoever trusts the first goes on trusting under all the ways in that it knows, and nobody has to trust more than
//! is needed. An authority is replaced only when it is about to end.
mod authority;
mod door;
mod ways;

pub use authority::{Authority, Issued};
pub use door::{Carried, serve};
pub use ways::{Way, Ways};

use crate::shop::Instant;
use std::{
    collections::BTreeSet,
    fs,
    net::IpAddr,
    os::unix::fs::DirBuilderExt,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError, RwLock},
};
use tokio_rustls::rustls::ServerConfig;

/// What can go wrong with authority and certificates.
#[derive(Debug, thiserror::Error)]
pub enum TlsError {
    /// A file could not be read or written.
    #[error("{file}: {source}")]
    File {
        /// Which.
        file: String,
        /// Why.
        source: std::io::Error,
    },
    /// An authority's file is not as we wrote it.
    #[error("{file}: {why}")]
    Unreadable {
        /// Which.
        file: String,
        /// What is wrong with it.
        why: String,
    },
    /// A certificate could not be made.
    #[error("a certificate could not be made: {0}")]
    Make(#[from] rcgen::Error),
    /// A certificate could not be served.
    #[error("a certificate could not be served: {0}")]
    Serve(#[from] tokio_rustls::rustls::Error),
    /// The clock shows a time for which there are no certificates.
    #[error("this machine's clock is wrong")]
    Clock,
}

impl TlsError {
    fn io(file: &Path, source: std::io::Error) -> Self {
        Self::File {
            file: file.display().to_string(),
            source,
        }
    }

    fn unreadable(file: &Path, why: impl std::fmt::Display) -> Self {
        Self::Unreadable {
            file: file.display().to_string(),
            why: why.to_string(),
        }
    }
}

/// Something that happened and that a person may have to know.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum News {
    /// A new authority: who comes by these ways in must trust it.
    MustTrust {
        /// SHA-256 of its certificate.
        fingerprint: String,
        /// The ways in for which it vouches.
        ways: BTreeSet<Way>,
    },
    /// A new certificate; nobody has to do anything.
    Renewed(BTreeSet<Way>),
}

/// An authority that is in use, and its certificate.
struct InUse {
    authority: Arc<Authority>,
    issued: Arc<Issued>,
}

struct Serving {
    ways: Ways,
    // The oldest first: it goes before the others for whatever it knows.
    in_use: Vec<InUse>,
}

/// Authorities and certificates of the running server.
pub struct Tls {
    folder: PathBuf,
    serving: RwLock<Arc<Serving>>,
    // One refresh at a time, else two would make the same authority.
    refreshing: Mutex<()>,
}

impl Tls {
    /// Opens the folder, makes it and a first authority where there is none.
    pub fn open(folder: &Path, ways: Ways, now: Instant) -> Result<(Self, Vec<News>), TlsError> {
        fs::DirBuilder::new()
            .recursive(true)
            .mode(0o700)
            .create(folder)
            .map_err(|e| TlsError::io(folder, e))?;
        let nothing = Serving {
            ways: Ways::default(),
            in_use: Vec::new(),
        };
        let tls = Self {
            folder: folder.to_owned(),
            serving: RwLock::new(Arc::new(nothing)),
            refreshing: Mutex::new(()),
        };
        let news = tls.refresh(ways, now)?;
        Ok((tls, news))
    }

    /// Makes what is missing for these ways in: authorities, certificates. What is served changes at once, for connections that begin from now on.
    pub fn refresh(&self, ways: Ways, now: Instant) -> Result<Vec<News>, TlsError> {
        let _one = self
            .refreshing
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        let mut news = Vec::new();
        let mut authorities = self.authorities(now)?;
        let mut missing = ways.all();
        authorities
            .iter()
            .for_each(|a| missing.retain(|way| !a.permits().contains(way)));
        if !missing.is_empty() {
            let authority = Authority::make(&self.next_file()?, &missing, now)?;
            news.push(News::MustTrust {
                fingerprint: authority.fingerprint(),
                ways: missing,
            });
            authorities.push(Arc::new(authority));
        }
        let before = self.serving();
        let mut left = ways.all();
        let mut in_use = Vec::new();
        for authority in authorities {
            let (its, others) = left
                .into_iter()
                .partition::<BTreeSet<_>, _>(|way| authority.permits().contains(way));
            left = others;
            if its.is_empty() {
                continue;
            }
            let known = before
                .in_use
                .iter()
                .find(|u| u.authority.der() == authority.der())
                .map(|u| u.issued.clone());
            let issued = match known.clone().filter(|issued| issued.serves(&its, now)) {
                Some(issued) => issued,
                None => {
                    if known.is_some() {
                        news.push(News::Renewed(its.clone()));
                    }
                    Arc::new(authority.issue(&its, now)?)
                }
            };
            in_use.push(InUse { authority, issued });
        }
        *self.serving.write().unwrap_or_else(PoisonError::into_inner) =
            Arc::new(Serving { ways, in_use });
        Ok(news)
    }

    /// The authorities on file that last, the oldest first.
    fn authorities(&self, now: Instant) -> Result<Vec<Arc<Authority>>, TlsError> {
        let mut lasting = Vec::new();
        for number in 1.. {
            let file = self.file(number);
            if !file.exists() {
                break;
            }
            let authority = Authority::read(&file)?;
            if authority.lasts(now) {
                lasting.push(Arc::new(authority));
            }
        }
        Ok(lasting)
    }

    fn file(&self, number: u32) -> PathBuf {
        self.folder.join(format!("authority-{number}.pem"))
    }

    fn next_file(&self) -> Result<PathBuf, TlsError> {
        (1..)
            .map(|n| self.file(n))
            .find(|f| !f.exists())
            .ok_or(TlsError::Clock)
    }

    fn serving(&self) -> Arc<Serving> {
        self.serving
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    /// The ways in now.
    pub fn ways(&self) -> Ways {
        self.serving().ways.clone()
    }

    /// Each authority in use with the ways in for which it vouches now, the oldest first.
    pub fn in_use(&self) -> Vec<(Arc<Authority>, BTreeSet<Way>)> {
        self.serving()
            .in_use
            .iter()
            .map(|u| (u.authority.clone(), u.issued.ways.clone()))
            .collect()
    }

    /// The authority that whoever comes by this way in must trust; the first one where the way in is none of ours.
    pub fn to_trust(&self, way: Option<&Way>) -> Option<Arc<Authority>> {
        let serving = self.serving();
        let known = way.and_then(|way| serving.in_use.iter().find(|u| u.issued.ways.contains(way)));
        known
            .or(serving.in_use.first())
            .map(|u| u.authority.clone())
    }

    /// What to serve a connection with: by the name that the browser asks for, else by the address at which it arrived.
    fn config(&self, name: Option<&str>, arrived_at: IpAddr) -> Option<Arc<ServerConfig>> {
        let serving = self.serving();
        let by = |way: &Way| serving.in_use.iter().find(|u| u.issued.ways.contains(way));
        let address = Way::Address(arrived_at.to_canonical());
        let found = match name.and_then(Way::parse) {
            Some(name) => by(&name).or_else(|| by(&address)),
            None => serving
                .ways
                .passed_on()
                .and_then(by)
                .or_else(|| by(&address)),
        };
        found
            .or(serving.in_use.first())
            .map(|u| u.issued.config.clone())
    }
}
