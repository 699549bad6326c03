//! Jobs of the workshop in `examples/jobs`.

/// Those without a finding and without anything to find out.
pub const CLEAN: [&str; 18] = [
    "j-2041-one-subwoofer.yaml",
    "j-2043-two-amplifiers.yaml",
    "j-2044-second-battery.yaml",
    "j-2045-24-volt-truck.yaml",
    "j-2051-one-subwoofer-installed.yaml",
    "j-2054-bridged-rear-pair.yaml",
    "j-2055-camper-lithium.yaml",
    "j-2056-motorhome-24-volt.yaml",
    "j-2057-everything-on-one-block.yaml",
    "j-2058-electric-line-output.yaml",
    "j-2070-hybrid-isolated.yaml",
    "j-2073-one-lead-one-box.yaml",
    "j-2074-front-pair-kept-free.yaml",
    "j-2075-returns-gathered.yaml",
    "j-2076-van-breaker-processor.yaml",
    "j-2077-capacitor-beside-amplifier.yaml",
    "j-2078-converter-in-a-truck.yaml",
    "j-2079-five-channels.yaml",
];
