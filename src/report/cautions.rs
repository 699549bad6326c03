//! The cautions that belong to the work. They stand wherever people read about it: the README, the rule book.

/// What a judgement is worth.
pub const SCOPE: &str = "testlamp reads plans; it does not see the vehicle. It takes no responsibility off the person who \
                         does the work.";

/// What can hurt somebody, and who has the last word.
pub const CAUTIONS: [&str; 5] = [
    "Take the battery off before any work on its circuits, negative first; put it back last, and the main fuse after \
     everything is connected and inspected.",
    "Airbags and belt tensioners: keep wires and screws away from them and from their harness. Work on them is for people \
     trained for it, after the waiting time that the vehicle's maker gives.",
    "Hybrid and electric vehicles: high voltage kills. Isolation is for qualified people, by the maker's procedure.",
    "Look at what is behind before you drill: fuel and brake lines, tank, harness, glass.",
    "Local codes, the vehicle maker's instructions and licensed practice stand above anything printed here.",
];
