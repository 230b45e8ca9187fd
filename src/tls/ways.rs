//! The ways in: every name and address under which this server is reached.
use std::{
    collections::BTreeSet,
    fmt,
    net::{IpAddr, Ipv6Addr},
};

/// A name or an address under which this server is reached.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// A name, lower case.
    Name(String),
    /// An address.
    Address(IpAddr),
}

impl Way {
    /// Reads `shop.test`, `192.168.1.5` or `[fd00::2]`; `None` where it is neither a name nor an address.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim().trim_end_matches('.');
        let bare = text
            .strip_prefix('[')
            .and_then(|t| t.strip_suffix(']'))
            .unwrap_or(text);
        if let Ok(address) = bare.parse::<IpAddr>() {
            return Some(Self::Address(address.to_canonical()));
        }
        let label = |l: &str| {
            (1..=63).contains(&l.len())
                && l.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
                && !l.starts_with('-')
                && !l.ends_with('-')
        };
        let name = text.to_ascii_lowercase();
        // A last label of digits alone would be a mistyped address.
        let last = name.rsplit('.').next().unwrap_or_default();
        let fits = name.len() <= 253
            && name.split('.').all(label)
            && !last.chars().all(|c| c.is_ascii_digit());
        fits.then_some(Self::Name(name))
    }

    /// The way in that a browser's `Host` names: `shop.test:8470`, `[fd00::2]:8470`.
    pub fn of_host(host: &str) -> Option<Self> {
        let port_at = match host.find(']') {
            Some(bracket) => bracket + 1,
            None => host.find(':').unwrap_or(host.len()),
        };
        let (way, port) = host.split_at(port_at);
        let port_fits = port.is_empty()
            || port
                .strip_prefix(':')
                .is_some_and(|p| p.parse::<u16>().is_ok_and(|p| p > 0));
        Self::parse(way).filter(|_| port_fits)
    }
}

impl fmt::Display for Way {
    /// As it stands in an address line: an IPv6 address in brackets.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Way::Name(name) => f.write_str(name),
            Way::Address(IpAddr::V6(address)) => write!(f, "[{address}]"),
            Way::Address(IpAddr::V4(address)) => write!(f, "{address}"),
        }
    }
}

/// All ways in at one moment.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ways {
    /// Those that the person who started the server gave, in that order: the shop's fixed name comes first.
    pub given: Vec<Way>,
    /// Those that this machine has by itself.
    pub own: BTreeSet<Way>,
}

impl Ways {
    /// The given ones, this machine's names and the addresses of its interfaces.
    pub fn of_this_machine(given: &[Way]) -> std::io::Result<Self> {
        let host = gethostname::gethostname().to_string_lossy().into_owned();
        let passing = passing_addresses();
        let addresses = if_addrs::get_if_addrs()?
            .into_iter()
            .map(|i| i.ip().to_canonical())
            .filter(|a| is_local(*a) && !passing.contains(a));
        let own = names(&host)
            .into_iter()
            .chain(addresses.map(Way::Address))
            .collect();
        Ok(Self {
            given: given.to_vec(),
            own,
        })
    }

    /// All of them.
    pub fn all(&self) -> BTreeSet<Way> {
        self.given.iter().chain(&self.own).cloned().collect()
    }

    /// All of them, in the order in which one would tell them to somebody with a tablet: what was given, addresses of the network, names, the machine itself.
    pub fn told(&self) -> Vec<Way> {
        let mut all: Vec<Way> = self.all().into_iter().collect();
        all.sort_by_key(|way| match way {
            _ if self.given.contains(way) => 0,
            Way::Address(IpAddr::V4(a)) if !a.is_loopback() => 1,
            Way::Address(IpAddr::V6(a)) if !a.is_loopback() => 2,
            Way::Name(name) if name != "localhost" => 3,
            _ => 4,
        });
        all
    }

    /// An address that was given and that no interface has: another machine (a container's host) passes its connections on to us.
    pub fn passed_on(&self) -> Option<&Way> {
        self.given
            .iter()
            .find(|w| matches!(w, Way::Address(_)) && !self.own.contains(w))
    }
}

/// The machine's own name, the same for a network without a name server (RFC 6762), and `localhost`.
fn names(host: &str) -> Vec<Way> {
    let short = host.split('.').next().unwrap_or_default();
    [
        host.to_owned(),
        format!("{short}.local"),
        "localhost".to_owned(),
    ]
    .iter()
    .filter_map(|n| Way::parse(n))
    .filter(|w| matches!(w, Way::Name(_)))
    .collect()
}

/// Whether an interface's address is one of this place: in IPv6 only the loopback and unique local ones (RFC 4193). The others come from the
/// provider, change when it likes, and nobody types them; link-local ones do not work in a browser's address line.
fn is_local(address: IpAddr) -> bool {
    match address {
        IpAddr::V4(a) => !a.is_unspecified(),
        IpAddr::V6(a) => a.is_loopback() || a.is_unique_local(),
    }
}

/// Addresses that the system changes by itself every day (RFC 8981); a certificate for them would be old tomorrow. Linux tells them by a flag.
fn passing_addresses() -> BTreeSet<IpAddr> {
    const TEMPORARY: u8 = 0x01;
    let table = std::fs::read_to_string("/proc/net/if_inet6").unwrap_or_default();
    let read = |line: &str| {
        let mut columns = line.split_whitespace();
        let address = u128::from_str_radix(columns.next()?, 16).ok()?;
        let flags = u8::from_str_radix(columns.nth(3)?, 16).ok()?;
        (flags & TEMPORARY != 0).then_some(IpAddr::V6(Ipv6Addr::from(address)))
    };
    table.lines().filter_map(read).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_way_is_a_name_or_an_address() {
        let name = |n: &str| Some(Way::Name(n.into()));
        assert_eq!(Way::parse("Shop.Test."), name("shop.test"));
        assert_eq!(
            Way::parse("192.168.1.5"),
            Some(Way::Address("192.168.1.5".parse().expect("an address")))
        );
        assert_eq!(
            Way::parse("[fd00::2]").map(|w| w.to_string()),
            Some("[fd00::2]".into())
        );
        for wrong in [
            "",
            "a b",
            "shop..test",
            "-x",
            "192.168.1",
            "300.1.1.1",
            "shop.test:8470",
            "x/y",
        ] {
            assert_eq!(Way::parse(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn a_host_loses_its_port() {
        for (host, way) in [
            ("shop.test:8470", "shop.test"),
            ("shop.test", "shop.test"),
            ("192.168.1.5:8470", "192.168.1.5"),
            ("[fd00::2]:8470", "[fd00::2]"),
            ("[::1]", "[::1]"),
        ] {
            assert_eq!(
                Way::of_host(host).map(|w| w.to_string()).as_deref(),
                Some(way)
            );
        }
        for wrong in [
            "no such/host",
            "shop.test:",
            "shop.test:0",
            "shop.test:99999",
            "shop.test:80@elsewhere.test",
            "[::1]x",
            "[::1]:80/x",
            ":80",
            "",
        ] {
            assert_eq!(Way::of_host(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn a_machine_has_its_names() {
        let shown: Vec<_> = names("Bench-PC.lan")
            .iter()
            .map(ToString::to_string)
            .collect();
        assert_eq!(shown, ["bench-pc.lan", "bench-pc.local", "localhost"]);
        let own = Ways::of_this_machine(&[]).expect("interfaces").own;
        assert!(
            own.contains(&Way::Name("localhost".into()))
                && own.contains(&Way::Address("127.0.0.1".parse().expect("an address"))),
            "{own:?}"
        );
    }
}
