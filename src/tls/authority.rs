//! An authority of this server's own, and the certificates that it issues.
use super::{TlsError, Way};
use crate::shop::Instant;
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DistinguishedName, DnType,
    ExtendedKeyUsagePurpose, GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose,
    NameConstraints, SanType,
};
use sha2::{Digest, Sha256};
use std::{
    collections::BTreeSet,
    fs,
    io::Write,
    net::IpAddr,
    os::unix::fs::{OpenOptionsExt, PermissionsExt},
    path::Path,
    sync::Arc,
};
use tokio_rustls::rustls::{
    ServerConfig,
    crypto::ring,
    pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer, pem::PemObject},
};
use x509_parser::{extensions::GeneralName, prelude::X509Certificate};

/// Days for which an authority holds: ten years.
const AUTHORITY_DAYS: i64 = 3653;
/// Days for which a certificate holds; with [`EARLIER_DAYS`] less than the 398 that browsers take.
const CERTIFICATE_DAYS: i64 = 365;
/// Days by which each begins before it is made: a tablet's clock may be behind.
const EARLIER_DAYS: i64 = 3;
/// A certificate is made anew this many days before it ends.
const RENEW_DAYS: i64 = 60;

fn plus_days(at: Instant, days: i64) -> Instant {
    at.plus_minutes(days * 24 * 60)
}

/// An authority. It can vouch for nothing but the ways in for which it was made.
pub struct Authority {
    der: CertificateDer<'static>,
    issuer: Issuer<'static, KeyPair>,
    permits: BTreeSet<Way>,
    ends: Instant,
}

/// A certificate that is served.
pub struct Issued {
    /// What it is for.
    pub ways: BTreeSet<Way>,
    /// When it begins.
    pub begins: Instant,
    /// When it ends.
    pub ends: Instant,
    /// What rustls serves it with.
    pub config: Arc<ServerConfig>,
}

impl Authority {
    /// Makes an authority for these ways in and keeps it in a file that only its owner reads.
    pub fn make(file: &Path, ways: &BTreeSet<Way>, now: Instant) -> Result<Self, TlsError> {
        let key = KeyPair::generate()?;
        let mut params = CertificateParams::default();
        params.distinguished_name = called(&format!(
            "Chillwright's own authority, {}, {}",
            first_name(ways),
            &now.rfc3339()[..10]
        ));
        params.not_before = time(plus_days(now, -EARLIER_DAYS))?;
        params.not_after = time(plus_days(now, AUTHORITY_DAYS))?;
        params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
        params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
        // For servers only: not for mail, programs or people.
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.name_constraints = Some(constraints(ways));
        let certificate = params.self_signed(&key)?;
        keep(
            file,
            &format!("{}{}", certificate.pem(), key.serialize_pem()),
        )
        .map_err(|e| TlsError::io(file, e))?;
        Self::read(file)
    }

    /// Reads an authority from its file.
    pub fn read(file: &Path) -> Result<Self, TlsError> {
        let mode = fs::metadata(file)
            .map_err(|e| TlsError::io(file, e))?
            .permissions()
            .mode()
            & 0o777;
        if mode & 0o077 != 0 {
            return Err(TlsError::unreadable(
                file,
                format!(
                    "others than its owner may read it (mode {mode:03o}). If nobody did, set it to 600; else delete it, and tablets must trust a new one"
                ),
            ));
        }
        let pem = fs::read(file).map_err(|e| TlsError::io(file, e))?;
        let der =
            CertificateDer::from_pem_slice(&pem).map_err(|e| TlsError::unreadable(file, e))?;
        let key = PrivateKeyDer::from_pem_slice(&pem).map_err(|e| TlsError::unreadable(file, e))?;
        let key = KeyPair::try_from(&key).map_err(|e| TlsError::unreadable(file, e))?;
        let (_, certificate) =
            x509_parser::parse_x509_certificate(&der).map_err(|e| TlsError::unreadable(file, e))?;
        if certificate.public_key().subject_public_key.data != key.public_key_raw() {
            return Err(TlsError::unreadable(
                file,
                "its key belongs to another certificate",
            ));
        }
        let (permits, ends) = (
            permitted(&certificate),
            Instant(certificate.validity().not_after.timestamp() * 1000),
        );
        let issuer = Issuer::from_ca_cert_der(&der, key)?;
        Ok(Self {
            issuer,
            permits,
            ends,
            der,
        })
    }

    /// What it may vouch for.
    pub fn permits(&self) -> &BTreeSet<Way> {
        &self.permits
    }

    /// When it ends.
    pub fn ends(&self) -> Instant {
        self.ends
    }

    /// Whether a certificate that it issued now would hold for its whole time.
    pub fn lasts(&self, now: Instant) -> bool {
        plus_days(now, CERTIFICATE_DAYS) < self.ends
    }

    /// The certificate to trust, in DER.
    pub fn der(&self) -> &[u8] {
        &self.der
    }

    /// SHA-256 of the certificate, as systems show it: pairs of hexadecimal digits with colons.
    pub fn fingerprint(&self) -> String {
        Sha256::digest(&self.der)
            .iter()
            .map(|b| format!("{b:02X}"))
            .collect::<Vec<_>>()
            .join(":")
    }

    /// Issues a certificate for these ways in. Its key is never written to a file: each start makes another.
    pub fn issue(&self, ways: &BTreeSet<Way>, now: Instant) -> Result<Issued, TlsError> {
        let key = KeyPair::generate()?;
        let (begins, ends) = (
            plus_days(now, -EARLIER_DAYS),
            plus_days(now, CERTIFICATE_DAYS).min(self.ends),
        );
        let mut params = CertificateParams::default();
        params.distinguished_name = called("Chillwright");
        params.not_before = time(begins)?;
        params.not_after = time(ends)?;
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        params.subject_alt_names = ways
            .iter()
            .map(alternative_name)
            .collect::<Result<_, _>>()?;
        let certificate = params.signed_by(&key, &self.issuer)?;
        let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
        let mut config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
            .with_safe_default_protocol_versions()?
            .with_no_client_auth()
            .with_single_cert(vec![certificate.der().clone()], key)?;
        config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
        Ok(Issued {
            ways: ways.clone(),
            begins,
            ends,
            config: Arc::new(config),
        })
    }
}

impl Issued {
    /// Whether it still serves these ways in, with enough time left.
    pub fn serves(&self, ways: &BTreeSet<Way>, now: Instant) -> bool {
        self.ways == *ways && self.begins <= now && now < plus_days(self.ends, -RENEW_DAYS)
    }
}

/// Name constraints (RFC 5280, 4.2.1.10). A constraint binds only names of its own kind, so a kind that is not permitted at all is excluded as a whole.
fn constraints(ways: &BTreeSet<Way>) -> NameConstraints {
    let permitted_subtrees: Vec<_> = ways
        .iter()
        .map(|way| match way {
            Way::Name(name) => GeneralSubtree::DnsName(name.clone()),
            Way::Address(address @ IpAddr::V4(_)) => {
                GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(*address, 32))
            }
            Way::Address(address @ IpAddr::V6(_)) => {
                GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(*address, 128))
            }
        })
        .collect();
    let mut excluded_subtrees = Vec::new();
    if !ways.iter().any(|w| matches!(w, Way::Name(_))) {
        excluded_subtrees.push(GeneralSubtree::DnsName(String::new()));
    }
    if !ways.iter().any(|w| matches!(w, Way::Address(_))) {
        excluded_subtrees.push(GeneralSubtree::IpAddress(CidrSubnet::from_v4_prefix(
            [0; 4], 0,
        )));
        excluded_subtrees.push(GeneralSubtree::IpAddress(CidrSubnet::from_v6_prefix(
            [0; 16], 0,
        )));
    }
    NameConstraints {
        permitted_subtrees,
        excluded_subtrees,
    }
}

/// What a certificate's name constraints permit, read back. An address with another mask than one for a single address is not ours.
fn permitted(certificate: &X509Certificate<'_>) -> BTreeSet<Way> {
    let Ok(Some(constraints)) = certificate.name_constraints() else {
        return BTreeSet::new();
    };
    let single = |octets: &[u8]| -> Option<IpAddr> {
        match octets.split_at_checked(octets.len() / 2)? {
            (address, mask) if mask.iter().any(|b| *b != 0xff) || address.is_empty() => None,
            (address, _) => <[u8; 4]>::try_from(address)
                .map(IpAddr::from)
                .or_else(|_| <[u8; 16]>::try_from(address).map(IpAddr::from))
                .ok(),
        }
    };
    let subtrees = constraints.value.permitted_subtrees.iter().flatten();
    subtrees
        .filter_map(|subtree| match &subtree.base {
            GeneralName::DNSName(name) => Way::parse(name),
            GeneralName::IPAddress(octets) => single(octets).map(Way::Address),
            _ => None,
        })
        .collect()
}

fn alternative_name(way: &Way) -> Result<SanType, TlsError> {
    Ok(match way {
        Way::Name(name) => SanType::DnsName(name.as_str().try_into()?),
        Way::Address(address) => SanType::IpAddress(*address),
    })
}

/// What a person looks for in a tablet's list of authorities.
fn first_name(ways: &BTreeSet<Way>) -> String {
    let telling = |w: &&Way| {
        matches!(w, Way::Name(n) if n != "localhost")
            || matches!(w, Way::Address(a) if !a.is_loopback())
    };
    ways.iter()
        .find(telling)
        .or(ways.first())
        .map(ToString::to_string)
        .unwrap_or_default()
}

fn called(name: &str) -> DistinguishedName {
    let mut called = DistinguishedName::new();
    called.push(DnType::CommonName, name);
    called
}

fn time(at: Instant) -> Result<time::OffsetDateTime, TlsError> {
    time::OffsetDateTime::from_unix_timestamp(at.0.div_euclid(1000)).map_err(|_| TlsError::Clock)
}

/// Writes the file whole or not at all; readable by nobody else from its first byte.
fn keep(file: &Path, text: &str) -> std::io::Result<()> {
    let beside = file.with_extension("new");
    let _ = fs::remove_file(&beside);
    let mut written = fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(&beside)?;
    written.write_all(text.as_bytes())?;
    written.sync_all()?;
    fs::rename(&beside, file)?;
    fs::File::open(file.parent().unwrap_or(Path::new(".")))?.sync_all()
}
