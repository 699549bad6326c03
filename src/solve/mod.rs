//! What is computed: pure functions over typed quantities, no YAML and no printing in them.

pub mod network;
