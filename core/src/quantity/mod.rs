//! A stand-in with the calls that `entry` needs, until the module itself lands; replace it whole.
#![allow(missing_docs, clippy::all)]
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quantity(String, Unit);
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unit(u32);
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("x")]
pub struct QuantityError;
impl Quantity {
    pub fn from_wire(t: &str, u: u32) -> Result<Self, QuantityError> {
        Ok(Self(t.into(), Unit(u)))
    }
    pub fn typed(&self) -> &str {
        &self.0
    }
    pub fn unit(&self) -> Unit {
        self.1
    }
}
impl Unit {
    pub fn code(&self) -> u32 {
        self.0
    }
}
