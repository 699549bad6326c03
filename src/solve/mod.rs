//! What is computed: pure functions over typed quantities, no YAML and no printing in them.

pub mod ampacity;
pub mod conductor;
pub mod fuse;
pub mod network;

pub use crate::plan::{FuseForm, Material};
pub use conductor::Construction;
pub use fuse::Opening;
