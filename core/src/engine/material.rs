//! Materials and how they grow with temperature.

use std::borrow::Cow;

/// Half width of the rectangular uncertainty of a handbook coefficient, in per cent of it.
///
/// Source: Swyt, J. Res. NIST 99 (1994) 31, shows one steel given from 11.2 to 14.6 by
/// handbooks; +-10 % is used unless the maker gives a figure.
pub const HANDBOOK_HALF_WIDTH_PERCENT: u8 = 10;

/// A material.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Material {
    /// Name, such as `grey-iron`.
    pub name: Cow<'static, str>,
    /// Coefficient of linear expansion near 20 degC, in 1e-9 per degC.
    pub alpha_1e9: u32,
    /// Half width of its rectangular uncertainty, in per cent of it.
    pub half_width_percent: u8,
    /// Where the coefficient comes from.
    pub source: Cow<'static, str>,
}

const fn row(name: &'static str, alpha_1e9: u32, source: &'static str) -> Material {
    Material {
        name: Cow::Borrowed(name),
        alpha_1e9,
        half_width_percent: HANDBOOK_HALF_WIDTH_PERCENT,
        source: Cow::Borrowed(source),
    }
}

const CALLISTER: &str = "Callister, Table B.6";
const MEMORY: &str = "handbook range, from memory";

/// The materials known without being defined; a definition may add its own.
pub static MATERIALS: [Material; 15] = [
    row("tool-steel", 11_500, "JCGM 100:2008 H.1 (gauge steel); ISO 3650 from memory"),
    row("grey-iron", 11_400, CALLISTER),
    row("ductile-iron-60-40-18", 11_200, CALLISTER),
    row("ductile-iron-80-55-06", 10_600, CALLISTER),
    row("compacted-iron", 11_000, MEMORY),
    row("aluminium-356", 21_500, CALLISTER),
    row("aluminium-6061", 23_600, CALLISTER),
    row("piston-alloy-4032", 19_400, "ASM, 20-100 degC, from memory"),
    row("piston-alloy-eutectic", 19_500, "ASM range 19-20 at 20-100 degC, from memory"),
    row("piston-alloy-hypereutectic", 18_000, "range 17.5-18.5, from memory"),
    row("piston-alloy-2618", 22_300, "ASM, from memory"),
    row("steel-1040", 11_300, CALLISTER),
    row("steel-4140", 12_300, CALLISTER),
    row("steel-4340", 12_300, CALLISTER),
    row("titanium-6-4", 8_600, CALLISTER),
];

/// The material of that name in the table.
#[must_use]
pub fn find(name: &str) -> Option<&'static Material> {
    MATERIALS.iter().find(|material| material.name == name)
}

/// What a thing is made of, as the definition says it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MaterialRole {
    /// The cylinder block, main caps and decks.
    Block,
    /// The bore wall: the liner where there is one, else the block.
    BoreWall,
    /// Cylinder liners.
    Liner,
    /// Cylinder heads.
    Head,
    /// The crankshaft.
    Crank,
    /// The camshaft.
    Cam,
    /// Connecting rods and their caps.
    Rod,
    /// Pistons.
    Piston,
    /// Gudgeons.
    Gudgeon,
    /// Piston rings.
    Ring,
    /// Bearing shells and thrust washers.
    Shell,
    /// Bolts and studs.
    Bolt,
}

/// A role that a definition gives a material to.
#[derive(Clone, Copy, Debug)]
pub struct RoleRow {
    /// The role.
    pub role: MaterialRole,
    /// Its key in the definition.
    pub key: &'static str,
    /// Material where the definition says nothing; none: it must say.
    pub default: Option<&'static str>,
}

const fn role(role: MaterialRole, key: &'static str, default: Option<&'static str>) -> RoleRow {
    RoleRow { role, key, default }
}

/// Roles and their defaults (common practice, no source).
pub static ROLES: [RoleRow; 11] = [
    role(MaterialRole::Block, "block", None),
    role(MaterialRole::Liner, "liner", Some("grey-iron")),
    role(MaterialRole::Head, "head", Some("aluminium-356")),
    role(MaterialRole::Crank, "crank", None),
    role(MaterialRole::Cam, "cam", Some("grey-iron")),
    role(MaterialRole::Rod, "rod", None),
    role(MaterialRole::Piston, "piston", None),
    role(MaterialRole::Gudgeon, "gudgeon", Some("steel-1040")),
    role(MaterialRole::Ring, "ring", Some("grey-iron")),
    role(MaterialRole::Shell, "shell", Some("steel-1040")),
    role(MaterialRole::Bolt, "bolt", Some("steel-4140")),
];
