//! What is computed: pure functions over typed quantities, no YAML and no printing in them.

pub mod ampacity;
pub mod conductor;
pub mod fuse;

pub use conductor::{Construction, Material};
pub use fuse::{FuseForm, Opening};
