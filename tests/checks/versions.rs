//! The rules and their limits are what their version says: a change of either without a new version is refused here.
use chillwright_calc::{
    RULES_VERSION, UnitSystem,
    checks::{limits, rules::RuleList},
};
use std::fmt::Write;

/// All that decides a finding and is written down as data: each rule's row and each limit. The snapshot carries the version in its name: who changes a rule moves
/// `RULES_VERSION`, so that open orders are assessed anew, and keeps the snapshot of the version before as it is.
#[test]
fn rules_and_limits_are_those_of_their_version() {
    let mut text = RuleList::of(UnitSystem::Si).text();
    for limit in limits::ALL {
        let _ = writeln!(
            text,
            "\nlimit {} = {} ({}): {}",
            limit.key, limit.default, limit.dimension, limit.why
        );
    }
    for row in limits::default_vent_rows() {
        let _ = writeln!(text, "vent table: {}", row.line());
    }
    insta::with_settings!({ snapshot_path => "snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(format!("rules-{}", RULES_VERSION.replace('.', "-")), text);
    });
}
