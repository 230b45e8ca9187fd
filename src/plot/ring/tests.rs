//! The ring says what its input says, at places of their own.
use super::*;
use crate::shop::layout;
use std::collections::HashSet;

fn ring(metering: Metering, evaporators: u8) -> Ring {
    use chillwright_calc::record::Metering as Device;
    let device = if metering == Metering::Orifice {
        Device::OrificeTube
    } else {
        Device::ExpansionValve
    };
    let joints = layout::joints(Some(device), evaporators)
        .into_iter()
        .enumerate()
        .map(|(i, place)| Joint {
            number: format!("{}", i + 1),
            role: place.role.word().into(),
            side: place.side.word().into(),
            state: [JointState::Alone, JointState::Opened, JointState::Sealed][i % 3],
            line: (i == 1).then(|| Line {
                mark: Some(Mark::Blocks),
                says: "no seal <on> record".into(),
            }),
            href: format!("/j{i}"),
            says: format!("Joint {}, {}", i + 1, place.says),
        })
        .collect();
    let roles: &[&str] = if metering == Metering::Orifice {
        &[
            "compressor",
            "condenser",
            "expansion-device",
            "evaporator",
            "accumulator",
        ]
    } else {
        &[
            "compressor",
            "condenser",
            "receiver-drier",
            "expansion-device",
            "evaporator",
        ]
    };
    let mut parts: Vec<Part> = roles
        .iter()
        .map(|role| Part {
            role: (*role).into(),
            label: (*role).into(),
            second: "used, tag 88".into(),
            fitted: true,
            line: None,
            href: "/parts".into(),
        })
        .collect();
    if evaporators > 1 {
        parts.push(Part {
            role: "evaporator".into(),
            label: "rear evaporator".into(),
            second: String::new(),
            fitted: false,
            line: None,
            href: "/parts".into(),
        });
    }
    Ring {
        centre: "R-134a".into(),
        centre_line: Some(Line {
            mark: Some(Mark::Owner),
            says: "555 g, 45 g short".into(),
        }),
        centre_href: "/charge".into(),
        metering,
        evaporators,
        parts,
        joints,
        ports_href: "/ports".into(),
        compact: false,
        says: "The loop.".into(),
    }
}

#[test]
fn everything_stands_once_and_apart() {
    for (metering, evaporators) in [
        (Metering::Valve, 1),
        (Metering::Orifice, 1),
        (Metering::Valve, 2),
        (Metering::Orifice, 2),
    ] {
        let ring = ring(metering, evaporators);
        let svg = ring.svg();
        for joint in &ring.joints {
            assert_eq!(
                svg.matches(&format!("aria-label=\"{}\"", joint.says))
                    .count(),
                1,
                "{} {metering:?}",
                joint.says
            );
        }
        assert_eq!(
            ring.parts_at().len(),
            ring.parts.len(),
            "{metering:?} {evaporators}"
        );
        let spots: HashSet<_> = ring
            .joints_at()
            .iter()
            .map(|j| (j.spot.x, j.spot.y))
            .collect();
        assert_eq!(spots.len(), ring.joints.len(), "{metering:?} {evaporators}");
        assert!(ring.joints_at().iter().all(|j| j.has_place));
        assert!(svg.contains("555 g, 45 g short") && svg.contains("no seal &#60;on&#62; record"));
        assert!(!svg.contains("style="));
    }
}

#[test]
fn a_joint_without_a_place_stands_under_the_ring() {
    let mut ring = ring(Metering::Valve, 1);
    for i in 0..8 {
        ring.joints.push(Joint {
            number: format!("{}", 20 + i),
            role: String::new(),
            side: String::new(),
            state: JointState::Sealed,
            line: None,
            href: String::new(),
            says: format!("Joint {}", 20 + i),
        });
    }
    let at = ring.joints_at();
    assert_eq!(at.iter().filter(|j| !j.has_place).count(), 8);
    let spots: HashSet<_> = at.iter().map(|j| (j.spot.x, j.spot.y)).collect();
    assert_eq!(spots.len(), ring.joints.len());
    assert!(ring.svg().contains("aria-label=\"Joint 27\""));
}
