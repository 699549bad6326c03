//! Faulty jobs and exactly what is found in each.

use super::{assert_found, judged};

/// Which findings of a job are told below which other.
fn assert_told_below(job: &str, expected: &[(&str, &str)]) {
    let judgement = judged(job);
    let mut below: Vec<_> =
        judgement.failed().filter_map(|check| Some((check.rule.code, check.follows.as_ref()?.0))).collect();
    below.sort_unstable();
    assert_eq!(below, expected, "{job}");
}

#[test]
fn a_cable_that_was_too_good_a_bargain() {
    assert_found(
        "j-2046-fuse-above-wire.yaml",
        &[
            ("FUSE-01", "wires.main.fuse.rating"),
            ("FUSE-10", "wires.main.fuse.rating"),
            ("WIRE-02", "wires.main.length"),
            ("WIRE-03", "wires.main.conductor"),
            ("WIRE-04", "wires.main.insulation"),
        ],
    );
    assert_told_below("j-2046-fuse-above-wire.yaml", &[]);
}

#[test]
fn a_fuse_too_far_and_an_unsealed_firewall_pass() {
    assert_found(
        "j-2047-fuse-far-firewall-open.yaml",
        &[
            ("FUSE-02", "wires.main.fuse.distance"),
            ("ROUTE-01", "wires.main.crossings.firewall.through"),
            ("ROUTE-09", "wires.main.crossings.firewall.blind_side"),
        ],
    );
}

#[test]
fn a_ground_on_paint_under_a_seat_bolt() {
    assert_found(
        "j-2048-painted-ground.yaml",
        &[
            ("GROUND-01", "grounds.load-floor.surface"),
            ("GROUND-02", "wires.return.length"),
            ("GROUND-04", "grounds.load-floor.on"),
            ("GROUND-08", "grounds.load-floor.fastener.locking"),
            ("WIRE-12", "wires.return.length"),
        ],
    );
}

#[test]
fn an_amplifier_that_never_sleeps() {
    assert_found(
        "j-2049-never-off.yaml",
        &[
            ("ROUTE-03", "signals.left.lead.path.0"),
            ("TURN-01", "turn_on.remote.from.kind"),
            ("TURN-04", "turn_on.remote.tap"),
        ],
    );
}

#[test]
fn no_fuse_and_names_that_lead_nowhere() {
    assert_found(
        "j-2050-unprotected.yaml",
        &[
            ("FUSE-03", "wires.main.from"),
            ("PLAN-01", "steps.13.fuse"),
            ("PLAN-01", "turn_on.remote.to.0"),
            ("PLAN-01", "wires.return.to"),
            ("PLAN-03", "amplifiers.bass-amp"),
            ("TURN-02", "amplifiers.bass-amp"),
        ],
    );
    assert_told_below(
        "j-2050-unprotected.yaml",
        &[("PLAN-01", "FUSE-03"), ("PLAN-03", "PLAN-01"), ("TURN-02", "PLAN-03")],
    );
}

#[test]
fn a_sound_plan_that_was_not_built_as_planned() {
    assert_found(
        "j-2052-installed-wrong.yaml",
        &[
            ("PROOF-02", "measured.grounds.load-floor"),
            ("PROOF-03", "measured.loads.bass.dc_resistance"),
            ("PROOF-04", "measured.key_off"),
            ("PROOF-06", "measured.settings.bass-amp.gain"),
            ("PROOF-07", "measured.indicators.bass-amp.off"),
        ],
    );
    assert_told_below("j-2052-installed-wrong.yaml", &[("PROOF-04", "PROOF-07")]);
}

#[test]
fn two_ohm_on_a_bridge() {
    assert_found("j-2059-bridged-on-2-ohm.yaml", &[("LOAD-02", "loads.bass.coils")]);
    assert_told_below("j-2059-bridged-on-2-ohm.yaml", &[]);
}

#[test]
fn a_vented_box_tuned_by_ear() {
    assert_found(
        "j-2060-vented-by-ear.yaml",
        &[
            ("BOX-04", "settings.bass-amp.low_cut"),
            ("BOX-05", "enclosures.box.net_volume"),
            ("TUNE-02", "settings.bass-amp.low_pass"),
            ("TUNE-06", "settings.bass-amp"),
        ],
    );
    assert_told_below("j-2060-vented-by-ear.yaml", &[]);
}

#[test]
fn a_pickup_that_idles_loud_and_stands_long() {
    assert_found(
        "j-2061-pickup-parking-lot.yaml",
        &[("SUPPLY-01", "vehicle.alternator.at_idle"), ("SUPPLY-05", "vehicle.factory_load.key_off")],
    );
    assert_told_below("j-2061-pickup-parking-lot.yaml", &[]);
}

#[test]
fn a_signal_from_where_it_was_easiest_to_reach() {
    assert_found(
        "j-2062-tweeter-after-amplifier.yaml",
        &[
            ("SIGNAL-01", "signals.left.taken_at.plays"),
            ("SIGNAL-01", "signals.right.taken_at.plays"),
            ("SIGNAL-02", "signals.left.taken_at.after"),
            ("SIGNAL-02", "signals.right.taken_at.after"),
        ],
    );
    assert_told_below("j-2062-tweeter-after-amplifier.yaml", &[]);
}

#[test]
fn a_box_on_wood_screws_in_front_of_the_anchorage() {
    assert_found(
        "j-2063-box-behind-child-seat.yaml",
        &[
            ("MOUNT-02", "mounts.box.fasteners.count"),
            ("MOUNT-05", "mounts.box.blind_side"),
            ("MOUNT-06", "mounts.box.blocks.0"),
        ],
    );
    assert_told_below("j-2063-box-behind-child-seat.yaml", &[]);
}

#[test]
fn a_battery_that_is_back_on_before_the_fuse_holder_is_in() {
    assert_found(
        "j-2064-battery-on-too-soon.yaml",
        &[("STEP-02", "steps.12.fuse"), ("STEP-03", "steps.10.battery"), ("STEP-04", "steps.11.run")],
    );
    assert_told_below("j-2064-battery-on-too-soon.yaml", &[("STEP-02", "STEP-03")]);
}

#[test]
fn a_waiver_that_has_ended_beside_one_that_holds() {
    let job = "j-2065-one-waiver-ended.yaml";
    assert_found(job, &[("PLAN-06", "waivers.1.until"), ("ROUTE-04", "wires.return.fixed_every")]);
    assert_told_below(job, &[]);
    let judgement = judged(job);
    let waived: Vec<_> = judgement.checks.iter().filter(|check| check.waived.is_some()).collect();
    let waived: Vec<_> = waived.iter().map(|check| (check.rule.code, check.waived)).collect();
    assert_eq!(waived, [("GROUND-02", Some(0))]);
}

#[test]
fn a_hybrid_opened_like_any_other_car() {
    assert_found("j-2066-hybrid-opened.yaml", &[("STEP-05", "vehicle.high_voltage")]);
    assert_told_below("j-2066-hybrid-opened.yaml", &[]);
}

#[test]
fn the_shortest_way_under_a_seat() {
    assert_found(
        "j-2067-airbag-and-seat-rails.yaml",
        &[
            ("ROUTE-05", "wires.main.path.4"),
            ("ROUTE-07", "signals.left.lead.path.2"),
            ("ROUTE-07", "signals.right.lead.path.2"),
        ],
    );
    assert_told_below("j-2067-airbag-and-seat-rails.yaml", &[]);
}

#[test]
fn lithium_joined_to_lead_by_a_relay() {
    assert_found(
        "j-2068-lithium-on-a-relay.yaml",
        &[
            ("SUPPLY-07", "batteries.living.kind"),
            ("SUPPLY-14", "isolators.relay.kind"),
            ("SUPPLY-16", "batteries.living.kind"),
        ],
    );
    assert_told_below("j-2068-lithium-on-a-relay.yaml", &[("SUPPLY-14", "SUPPLY-07"), ("SUPPLY-16", "SUPPLY-07")]);
}

#[test]
fn another_fuse_and_a_thinner_wire_were_fitted() {
    assert_found(
        "j-2069-what-was-in-the-van.yaml",
        &[
            ("PROOF-01", "measured.wires.return.drop"),
            ("PROOF-09", "measured.wires.main.fuse"),
            ("PROOF-09", "measured.wires.return.size"),
        ],
    );
    assert_told_below("j-2069-what-was-in-the-van.yaml", &[("PROOF-01", "PROOF-09")]);
}

#[test]
fn two_old_amplifiers_on_one_remote_output() {
    assert_found("j-2071-too-much-for-the-remote.yaml", &[("TURN-03", "turn_on.remote.from.spare")]);
    assert_told_below("j-2071-too-much-for-the-remote.yaml", &[]);
}

#[test]
fn a_whine_with_three_causes() {
    assert_found(
        "j-2072-whine.yaml",
        &[
            ("GROUND-06", "wires.front-return.to"),
            ("ROUTE-03", "signals.bass-left.lead.path.1"),
            ("ROUTE-03", "signals.bass-right.lead.path.1"),
            ("SIGNAL-11", "signals.bass-left.lead.shielded"),
            ("SIGNAL-11", "signals.bass-right.lead.shielded"),
        ],
    );
    assert_told_below("j-2072-whine.yaml", &[]);
}
