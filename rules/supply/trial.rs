//! For the tests of this family: one amplifier with everything stated but what a test varies.

/// 500 W at 80 % with 1 A idle on 1/0 AWG, a measured battery, 40 A of own draw with the engine running.
pub fn plan(vehicle: &str, amplifier: &str) -> String {
    format!(
        "plan: 1\nvehicle:\n  voltage: 12 V\n  body: steel\n  body_resistance: 0.5 mohm\n  {vehicle}\n  \
         factory_load: {{running: 40 A}}\n\
         amplifiers:\n  amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, \
         rated: [{{load: 2 ohm, power: 500 W}}]{amplifier}}}\ngrounds: {{floor: {{}}}}\nwires:\n  \
         main: {{from: battery.positive, to: amp.power, size: 1/0 AWG, conductor: copper, insulation: 105 C, length: 4 m, \
         fuse: {{form: bolt-down, rating: 80 A, distance: 20 cm}}}}\n  \
         return: {{from: amp.ground, to: grounds.floor, size: 1/0 AWG, conductor: copper, insulation: 105 C, length: 40 cm}}\n"
    )
}
