//! What the engine is made of: the table `[materials]` and the shop's own `[[material]]`s.

use std::borrow::Cow;

use super::layout::{Layout, Liners};
use super::material::{HANDBOOK_HALF_WIDTH_PERCENT, MATERIALS, Material, MaterialRole, ROLES, RoleRow};
use super::name::{self, short};
use super::nearest::suggest;
use super::problem::Problems;
use super::section::Section;
use crate::quantity::Kind;

/// The material of each role.
#[derive(Clone, Debug)]
pub(super) struct Materials {
    by_role: Vec<(MaterialRole, Material)>,
    own: Vec<Material>,
    lined: bool,
}

impl Materials {
    /// The material of a role.
    pub(super) fn of(&self, role: MaterialRole) -> &Material {
        let wall = if self.lined { MaterialRole::Liner } else { MaterialRole::Block };
        let role = if role == MaterialRole::BoreWall { wall } else { role };
        let found = self.by_role.iter().find(|(given, _)| *given == role);
        found.map_or(&MATERIALS[0], |(_, material)| material)
    }

    /// A material by name: the definition's own first.
    pub(super) fn named(&self, name: &str) -> Option<&Material> {
        find_in(&self.own, name)
    }
}

fn find_in<'m>(own: &'m [Material], name: &str) -> Option<&'m Material> {
    own.iter().chain(MATERIALS.iter()).find(|material| material.name == name)
}

/// Reads `[[material]]` and `[materials]`.
pub(super) fn read(root: &mut Section<'_>, layout: Option<&Layout>, out: &mut Problems) -> Option<Materials> {
    let own = read_own(root, out);
    let Some(mut table) = root.table(out, "materials", "materials") else {
        if root.get("materials").is_none() {
            root.problem(out, "the table [materials] is missing", "block, crank, rod and piston");
        }
        return None;
    };
    let chosen = ROLES.iter().map(|row| read_role(&mut table, row, &own, out));
    let by_role: Option<Vec<_>> = chosen.collect::<Vec<_>>().into_iter().collect();
    table.finish(out);
    let lined = layout?.liners() != Liners::None;
    Some(Materials { by_role: by_role?, own, lined })
}

fn read_role(
    table: &mut Section<'_>,
    row: &RoleRow,
    own: &[Material],
    out: &mut Problems,
) -> Option<(MaterialRole, Material)> {
    let given = match row.default {
        None => Some(table.needed(out, row.key)?),
        Some(_) => table.text(out, row.key),
    };
    let name = given.map(|given| given.text).or(row.default)?;
    let found = find_in(own, name);
    if found.is_none() {
        let known: Vec<&str> = own.iter().chain(&MATERIALS).map(|material| &*material.name).collect();
        let reason = format!("`{}` is no known material of the {}", short(name), row.key);
        let hint = format!("{}; or add a [[material]]", suggest(name, &known));
        let at = given.map_or(table.at, |given| given.at);
        out.add(at, table.place.clone(), reason, hint);
    }
    found.map(|material| (row.role, material.clone()))
}

fn read_own(root: &mut Section<'_>, out: &mut Problems) -> Vec<Material> {
    let mut list: Vec<Material> = Vec::new();
    for mut table in root.tables(out, "material", "material") {
        if let Some(material) = read_one(&mut table, out) {
            if find_in(&list, &material.name).is_some() {
                table.problem(out, "a material of this name is known already", "choose another");
            }
            list.push(material);
        }
        table.finish(out);
    }
    list
}

fn read_one(table: &mut Section<'_>, out: &mut Problems) -> Option<Material> {
    let given = table.needed(out, "name");
    if let Some(given) = given {
        table.place = format!("material {}", short(given.text));
        name::check(out, &table.place, given);
    }
    if table.get("expansion").is_none() {
        table.problem(out, "`expansion` is missing", "such as \"11.5 ppm/°C\"");
    }
    let alpha = table.quantity(out, "expansion", Kind::Expansion);
    let half = table.whole(out, "half-width-percent", 0..=50);
    let source = table.needed(out, "source");
    // The quantity counts 1e-12 per degC; the table of materials 1e-9.
    let alpha_1e9 = u32::try_from(alpha?.amount().base() / 1000).ok().filter(|alpha| *alpha > 0);
    if alpha_1e9.is_none() {
        table.problem(out, "`expansion` is not above nought", "");
    }
    Some(Material {
        name: Cow::Owned(given?.text.to_owned()),
        alpha_1e9: alpha_1e9?,
        half_width_percent: half.unwrap_or(HANDBOOK_HALF_WIDTH_PERCENT),
        source: Cow::Owned(source?.text.to_owned()),
    })
}
