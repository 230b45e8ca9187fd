//! When something was entered at a tablet while the server was out of reach: the tablet's clock may be wrong, and may have been set meanwhile.
use super::Instant;

/// What a tablet tells of its own clock with an entry; milliseconds of that clock, whatever it shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TabletClock {
    /// When it was entered.
    pub entered: i64,
    /// When it was sent.
    pub sent: i64,
    /// A word of the server before the entry: the server's time, and the tablet's when it arrived. The worker keeps the one that was quickest on its way.
    pub contact: Option<(Instant, i64)>,
}

/// When an entry was made, by the server's clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EnteredAt {
    /// When.
    pub at: Instant,
    /// The tablet's clock was set in between, so the time is only about right; the order of the work stands.
    pub about: bool,
}

/// What is sent within this time did not wait, milliseconds.
const AT_ONCE: i64 = 5_000;
/// What two clocks may drift apart in a day and a message may take on its way, with room to spare.
const DRIFT: i64 = 60_000;
/// Nothing waits longer than a tablet's pages are good for, with room to spare.
const LONGEST: i64 = 7 * 24 * 3_600_000;

impl TabletClock {
    /// Whether the entry had to wait for the server.
    pub fn waited(&self) -> bool {
        !(0..AT_ONCE).contains(&(self.sent.saturating_sub(self.entered)))
    }

    /// When it was entered. Only differences of the tablet's clock are used, so that it may show anything: how long after a word of the server it was
    /// made, and how long it waited before it was sent. Where the two disagree, the clock was set in between. Where they agree the first counts: it
    /// keeps entries in the order in which they were made, while the second takes the time of the way for time of waiting.
    pub fn entered_at(&self, now: Instant) -> EnteredAt {
        let heard = self
            .contact
            .map(|(server, _)| server)
            .filter(|server| *server <= now);
        let may_be = |at: Instant| {
            at.0 <= now.0 + DRIFT
                && at.0 >= now.0 - LONGEST
                && heard.is_none_or(|heard| at.0 >= heard.0 - DRIFT)
        };
        let within = |at: Instant| Instant(at.0.clamp(heard.map_or(i64::MIN, |h| h.0), now.0));
        let by_waiting = Some(Instant(
            now.0.saturating_sub(self.sent.saturating_sub(self.entered)),
        ))
        .filter(|at| may_be(*at));
        let by_contact = heard
            .zip(self.contact)
            .map(|(heard, (_, tablet))| {
                Instant(heard.0.saturating_add(self.entered.saturating_sub(tablet)))
            })
            .filter(|at| may_be(*at));
        match (by_waiting, by_contact) {
            (Some(waited), Some(at)) if waited.0.abs_diff(at.0) <= DRIFT.unsigned_abs() => {
                EnteredAt {
                    at: within(at),
                    about: false,
                }
            }
            (Some(at), Some(_)) => EnteredAt {
                at: within(at),
                about: true,
            },
            // There was no word of the server before: nothing to hold the one against.
            (Some(at), None) => EnteredAt {
                at: within(at),
                about: heard.is_some(),
            },
            (None, Some(at)) => EnteredAt {
                at: within(at),
                about: true,
            },
            (None, None) => EnteredAt {
                at: now,
                about: true,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MINUTE: i64 = 60_000;
    const DAY: i64 = 24 * 60 * MINUTE;
    const NOON: Instant = Instant(1_778_587_200_000);

    fn before(minutes: i64) -> Instant {
        NOON.plus_minutes(-minutes)
    }

    /// A tablet whose clock is wrong by `off`: heard the server an hour before noon, made the entry half an hour before, sends it at noon.
    fn tablet(off: i64) -> TabletClock {
        TabletClock {
            entered: before(30).0 + off,
            sent: NOON.0 + off,
            contact: Some((before(60), before(60).0 + off)),
        }
    }

    #[test]
    fn a_clock_that_is_wrong_all_the_time_tells_the_right_time() {
        for off in [0, DAY, -DAY, 200 * DAY, -NOON.0] {
            assert_eq!(
                tablet(off).entered_at(NOON),
                EnteredAt {
                    at: before(30),
                    about: false
                },
                "{off}"
            );
        }
        // Also one that never heard the server before.
        assert_eq!(
            TabletClock {
                contact: None,
                ..tablet(DAY)
            }
            .entered_at(NOON),
            EnteredAt {
                at: before(30),
                about: false
            }
        );
    }

    #[test]
    fn entries_keep_their_order_however_long_each_was_on_its_way() {
        // One a second; the first takes six seconds to arrive, the others none.
        let contact = Some((before(1), 0));
        let made: Vec<_> = (0..8_i64)
            .map(|n| {
                let (entered, way) = (1_000 * n, if n == 0 { 6_000 } else { 0 });
                TabletClock {
                    entered,
                    sent: entered,
                    contact,
                }
                .entered_at(Instant(before(1).0 + entered + way))
            })
            .collect();
        assert!(
            made.windows(2).all(|pair| pair[0].at < pair[1].at) && made.iter().all(|m| !m.about),
            "{made:?}"
        );
        assert!(
            !TabletClock {
                entered: 0,
                sent: 1_200,
                contact
            }
            .waited()
                && TabletClock {
                    entered: 0,
                    sent: 6_000,
                    contact
                }
                .waited()
        );
    }

    #[test]
    fn a_clock_that_was_set_meanwhile_is_found_out() {
        // Right until the entry, then set a day forward, or back, before it was sent: counted from the server's last word.
        for set in [DAY, -DAY] {
            let clock = TabletClock {
                sent: NOON.0 + set,
                ..tablet(0)
            };
            assert_eq!(
                clock.entered_at(NOON),
                EnteredAt {
                    at: before(30),
                    about: true
                },
                "{set}"
            );
        }
        // Set between the server's last word and the entry: counted from the sending.
        for set in [DAY, -DAY] {
            let clock = TabletClock {
                contact: Some((before(60), before(60).0 + set)),
                ..tablet(0)
            };
            assert_eq!(
                clock.entered_at(NOON),
                EnteredAt {
                    at: before(30),
                    about: true
                },
                "{set}"
            );
        }
        // Set by so little that both may be: about.
        let clock = TabletClock {
            sent: NOON.0 + 5 * MINUTE,
            ..tablet(0)
        };
        assert_eq!(
            clock.entered_at(NOON),
            EnteredAt {
                at: before(35),
                about: true
            }
        );
        // Nothing fits: now, and the order of the work decides.
        let clock = TabletClock {
            entered: 5 * DAY,
            sent: 0,
            contact: Some((before(60), 50 * DAY)),
        };
        assert_eq!(
            clock.entered_at(NOON),
            EnteredAt {
                at: NOON,
                about: true
            }
        );
    }

    #[test]
    fn no_number_leads_outside_the_time_between_the_servers_last_word_and_now() {
        let odd = [
            i64::MIN,
            i64::MIN + 1,
            -DAY,
            -1,
            0,
            1,
            DAY,
            NOON.0,
            i64::MAX,
        ];
        for entered in odd {
            for sent in odd {
                for tablet in odd {
                    let at = TabletClock {
                        entered,
                        sent,
                        contact: Some((before(60), tablet)),
                    }
                    .entered_at(NOON)
                    .at;
                    assert!(
                        at <= NOON && at >= before(60),
                        "{entered} {sent} {tablet}: {at:?}"
                    );
                }
            }
        }
    }
}
