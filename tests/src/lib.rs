//! The whole system tried from outside: the plain model and what is compared with it.

pub mod demo;
pub mod engines;
pub mod homes;
pub mod kit;
pub mod large;
pub mod model;
pub mod mounted;
pub mod programs;
pub mod sheets;
