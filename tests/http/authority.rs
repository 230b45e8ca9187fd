//! What an authority can vouch for, asked of rustls' own verifier and of a parser that did not make it; renewal; the file of the key.
use chillwright::{
    shop::Instant,
    tls::{Authority, News, Tls, TlsError, Way, Ways},
};
use std::{
    collections::BTreeSet, os::unix::fs::PermissionsExt, path::Path, sync::Arc, time::Duration,
};
use tokio_rustls::{
    TlsAcceptor, TlsConnector,
    rustls::{
        ClientConfig, RootCertStore, ServerConfig,
        crypto::ring,
        pki_types::{CertificateDer, ServerName, UnixTime},
        time_provider::TimeProvider,
    },
};
use x509_parser::{extensions::GeneralName, prelude::*};

const NOW: Instant = Instant(1_778_572_800_000);
const DAY: i64 = 24 * 60;

pub fn way(text: &str) -> Way {
    Way::parse(text).expect("a way in")
}

fn set(ways: &[&str]) -> BTreeSet<Way> {
    ways.iter().map(|w| way(w)).collect()
}

pub fn ways(own: &[&str]) -> Ways {
    Ways {
        given: Vec::new(),
        own: set(own),
    }
}

#[derive(Debug)]
struct At(Instant);

impl TimeProvider for At {
    fn current_time(&self) -> Option<UnixTime> {
        Some(UnixTime::since_unix_epoch(Duration::from_millis(
            self.0.0.try_into().expect("after 1970"),
        )))
    }
}

/// A client that trusts these authorities and no other, with a clock of its own.
pub fn client(authorities: &[&[u8]], now: Instant) -> Arc<ClientConfig> {
    let mut roots = RootCertStore::empty();
    authorities.iter().for_each(|der| {
        roots
            .add(CertificateDer::from(der.to_vec()))
            .expect("an authority")
    });
    let builder =
        ClientConfig::builder_with_details(Arc::new(ring::default_provider()), Arc::new(At(now)));
    Arc::new(
        builder
            .with_safe_default_protocol_versions()
            .expect("versions")
            .with_root_certificates(roots)
            .with_no_client_auth(),
    )
}

/// Shakes hands in memory; or why the client went.
async fn meet(
    server: Arc<ServerConfig>,
    client: Arc<ClientConfig>,
    name: &str,
) -> Result<(), String> {
    let (here, there) = tokio::io::duplex(1 << 16);
    let answering =
        tokio::spawn(async move { TlsAcceptor::from(server).accept(there).await.map(drop) });
    let name = ServerName::try_from(name.to_owned()).expect("a server name");
    let met = TlsConnector::from(client)
        .connect(name, here)
        .await
        .map_err(|e| e.to_string());
    let _ = answering.await;
    met.map(drop)
}

fn mode(path: &Path) -> u32 {
    std::fs::metadata(path)
        .expect("it is there")
        .permissions()
        .mode()
        & 0o777
}

#[test]
fn the_authority_says_what_it_can_vouch_for_and_its_key_is_nobody_elses() {
    let folder = tempfile::tempdir().expect("a folder");
    let beside = folder.path().join("shop.tls");
    let (tls, news) = Tls::open(&beside, ways(&["shop.test", "192.168.7.5", "fd00::7"]), NOW)
        .expect("an authority");
    let authority = tls.to_trust(None).expect("an authority");
    assert_eq!(
        news,
        [News::MustTrust {
            fingerprint: authority.fingerprint(),
            ways: set(&["shop.test", "192.168.7.5", "fd00::7"])
        }]
    );
    assert_eq!(
        (mode(&beside), mode(&beside.join("authority-1.pem"))),
        (0o700, 0o600)
    );

    let (rest, read) = parse_x509_certificate(authority.der()).expect("a certificate");
    assert!(rest.is_empty());
    let constraints = read
        .extensions()
        .iter()
        .find_map(|e| match e.parsed_extension() {
            ParsedExtension::NameConstraints(c) => Some((e.critical, c)),
            _ => None,
        });
    let (critical, constraints) = constraints.expect("name constraints");
    assert!(critical && constraints.excluded_subtrees.is_none());
    let mut permitted: Vec<String> = constraints
        .permitted_subtrees
        .iter()
        .flatten()
        .map(|s| match &s.base {
            GeneralName::DNSName(name) => (*name).to_owned(),
            GeneralName::IPAddress(octets) => hex::encode(octets),
            other => panic!("{other:?}"),
        })
        .collect();
    permitted.sort();
    let (v4, v6) = (
        "c0a80705ffffffff",
        "fd000000000000000000000000000007ffffffffffffffffffffffffffffffff",
    );
    assert_eq!(permitted, [v4, v6, "shop.test"]);
    let basic = read.basic_constraints().expect("readable").expect("there");
    assert!(basic.critical && basic.value.ca && basic.value.path_len_constraint == Some(0));
    let days =
        (read.validity().not_after.timestamp() - read.validity().not_before.timestamp()) / 86400;
    assert_eq!(days, 3656, "ten years and three days");
    let openssl_form = authority.fingerprint();
    assert_eq!(openssl_form.len(), 95);
    assert_eq!(
        openssl_form.replace(':', "").to_lowercase(),
        hex::encode(<sha2::Sha256 as sha2::Digest>::digest(authority.der()))
    );
}

#[tokio::test]
async fn a_certificate_for_anything_else_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    // What the authority is for; what it is made to vouch for all the same; whether a client then comes in.
    for (number, (made_for, misused_for, comes_in)) in [
        (&["shop.test", "192.168.7.5"][..], "shop.test", true),
        (&["shop.test", "192.168.7.5"], "192.168.7.5", true),
        (&["shop.test", "192.168.7.5"], "bank.test", false),
        (
            &["shop.test", "192.168.7.5"],
            "shop.test.elsewhere.test",
            false,
        ),
        (&["shop.test", "192.168.7.5"], "192.168.7.6", false),
        (&["shop.test", "192.168.7.5"], "fd00::9", false),
        (&["192.168.7.5"], "192.168.7.5", true),
        (&["192.168.7.5"], "bank.test", false),
        (&["shop.test"], "shop.test", true),
        (&["shop.test"], "10.0.0.1", false),
        (&["shop.test"], "fd00::9", false),
    ]
    .into_iter()
    .enumerate()
    {
        let file = folder.path().join(format!("{number}.pem"));
        let authority = Authority::make(&file, &set(made_for), NOW).expect("an authority");
        let issued = authority
            .issue(&set(&[misused_for]), NOW)
            .expect("a certificate");
        let met = meet(
            issued.config.clone(),
            client(&[authority.der()], NOW),
            misused_for,
        )
        .await;
        assert_eq!(
            met.is_ok(),
            comes_in,
            "{made_for:?} for {misused_for}: {met:?}"
        );
        if let Err(why) = met {
            assert!(why.contains("NameConstraintViolation"), "{why}");
        }
    }
}

#[tokio::test]
async fn a_certificate_is_short_and_is_renewed_before_it_ends() {
    let folder = tempfile::tempdir().expect("a folder");
    let (tls, _) =
        Tls::open(&folder.path().join("tls"), ways(&["shop.test"]), NOW).expect("an authority");
    let authority = tls.to_trust(None).expect("an authority");
    let issued = authority
        .issue(&set(&["shop.test"]), NOW)
        .expect("a certificate");
    let begins = issued.begins;
    assert!((issued.ends.0 - begins.0) / 86_400_000 < 398);
    assert!(
        begins < NOW.plus_minutes(-2 * DAY),
        "a tablet's clock may be two days behind"
    );
    let after = meet(
        issued.config.clone(),
        client(&[authority.der()], issued.ends.plus_minutes(1)),
        "shop.test",
    )
    .await;
    assert!(after.is_err_and(|why| why.contains("certificate expired")));

    for (days, renewed) in [(1, false), (304, false), (306, true), (307, false)] {
        let news = tls
            .refresh(ways(&["shop.test"]), NOW.plus_minutes(days * DAY))
            .expect("looked after");
        assert_eq!(
            news,
            if renewed {
                vec![News::Renewed(set(&["shop.test"]))]
            } else {
                vec![]
            },
            "after {days} days"
        );
    }
    assert_eq!(
        tls.to_trust(None).expect("an authority").fingerprint(),
        authority.fingerprint()
    );
}

#[test]
fn another_authority_is_made_only_for_what_is_new_or_when_one_is_about_to_end() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("tls");
    let (tls, _) =
        Tls::open(&place, ways(&["shop.test", "192.168.7.5"]), NOW).expect("an authority");
    let first = tls.to_trust(None).expect("an authority").fingerprint();

    let news = tls
        .refresh(ways(&["shop.test", "192.168.7.9"]), NOW)
        .expect("looked after");
    let [
        News::MustTrust {
            fingerprint: second,
            ways: new,
        },
        News::Renewed(left),
    ] = &news[..]
    else {
        panic!("{news:?}")
    };
    assert_eq!((new, left), (&set(&["192.168.7.9"]), &set(&["shop.test"])));
    let by = |text: &str| {
        tls.to_trust(Some(&way(text)))
            .expect("an authority")
            .fingerprint()
    };
    assert_eq!(
        (by("shop.test"), by("192.168.7.9"), by("elsewhere.test")),
        (first.clone(), second.clone(), first.clone())
    );

    // The old address comes back: the old authority knows it.
    let news = tls
        .refresh(ways(&["shop.test", "192.168.7.5"]), NOW)
        .expect("looked after");
    assert_eq!(news, [News::Renewed(set(&["shop.test", "192.168.7.5"]))]);
    assert_eq!(tls.in_use().len(), 1);

    // The server starts again: the same authorities.
    let (again, news) = Tls::open(
        &place,
        ways(&["shop.test", "192.168.7.9"]),
        NOW.plus_minutes(DAY),
    )
    .expect("opened");
    assert!(news.is_empty(), "{news:?}");
    assert_eq!(
        again
            .in_use()
            .iter()
            .map(|u| u.0.fingerprint())
            .collect::<Vec<_>>(),
        [first.clone(), second.clone()]
    );

    // Nine years on a certificate would outlive it.
    let news = again
        .refresh(ways(&["shop.test"]), NOW.plus_minutes(3400 * DAY))
        .expect("looked after");
    let [
        News::MustTrust {
            fingerprint: third, ..
        },
    ] = &news[..]
    else {
        panic!("{news:?}")
    };
    assert!(*third != first && *third != *second && place.join("authority-3.pem").exists());
}

#[test]
fn an_authority_that_others_may_read_or_that_is_spoilt_is_not_used_and_not_replaced() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("authority-1.pem");
    let open = || Tls::open(folder.path(), ways(&["shop.test"]), NOW);
    open().expect("an authority");
    std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o640)).expect("set");
    assert!(matches!(open(), Err(TlsError::Unreadable { why, .. }) if why.contains("640")));
    std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o600)).expect("set");
    let whole = std::fs::read_to_string(&file).expect("text");
    let beside = folder.path().join("other.pem");
    Authority::make(&beside, &set(&["x.test"]), NOW).expect("another");
    let other = std::fs::read_to_string(&beside).expect("text");
    let key = |text: &str| text[text.find("-----BEGIN PRIVATE").expect("a key")..].to_owned();
    let mixed = whole.replace(&key(&whole), &key(&other));
    for spoilt in [&whole[..200], "", &mixed] {
        std::fs::write(&file, spoilt).expect("spoilt");
        assert!(
            matches!(open(), Err(TlsError::Unreadable { .. })),
            "{spoilt}"
        );
        assert_eq!(std::fs::read_to_string(&file).expect("text"), spoilt);
    }
    std::fs::write(&file, &whole).expect("whole");
    open().expect("as before");
}
