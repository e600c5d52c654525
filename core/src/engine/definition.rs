//! The definition of an engine, read once and checked whole.

use sha2::{Digest, Sha256};

use super::characteristic::Characteristic;
use super::condition::When;
use super::dimension::{self, Dimension};
use super::edit::Edit;
use super::fastener::{self, Fastener, Method};
use super::feature::{Feature, FeatureIx, FeatureKind};
use super::file;
use super::layout::{Layout, Liners};
use super::limit::{self, Limit, Limits};
use super::material::{Material, MaterialRole};
use super::materials::{self, Materials};
use super::operation::{Ended, Operation};
use super::operation_edit;
use super::places::{Places, UnknownFeature};
use super::problem::{Problem, Problems};
use super::procedure::{Check, Procedure, Stage, Step};
use super::ring::{self, Ring};
use super::section::Section;
use super::stations::StationTable;
use super::step::{self, Ground, StepInstance};
use super::wanted::{self, Wanted};
use crate::quantity::Quantity;

/// The form of definition that this program reads.
pub const SCHEMA: u8 = 1;

/// Largest definition text, in bytes.
pub const LARGEST: usize = 256 * 1024;

/// The definition of an engine.
#[derive(Clone, Debug)]
pub struct Definition {
    digest: [u8; 32],
    name: String,
    note: String,
    layout: Layout,
    places: Places,
    dimensions: Vec<Dimension>,
    materials: Materials,
    limits: Limits,
    fasteners: Vec<Fastener>,
    wanted: Vec<Wanted>,
    operations: Vec<Operation>,
    procedure: Procedure,
    steps: Vec<StepInstance>,
    by_id: Vec<usize>,
    stations: StationTable,
}

impl Definition {
    /// Reads a definition.
    ///
    /// # Errors
    /// Everything that is wrong with the text, in its order. Text that is not TOML is
    /// refused for that alone; limits, operations and steps are looked at only where the
    /// layout can be read; what the default procedure misses is said only where nothing
    /// else is wrong, since it may follow from it.
    pub fn parse(text: &str) -> Result<Self, Vec<Problem>> {
        let mut out = Problems::default();
        if text.len() > LARGEST {
            let reason = format!("{} bytes; at most {LARGEST} are read", text.len());
            out.add(0, "file", reason, "");
            return Err(out.into_list(""));
        }
        let fields = file::read(text, &mut out);
        if !out.is_empty() {
            return Err(out.into_list(text));
        }
        let root = Section::new("engine", 0, &fields);
        match read(root, text, &mut out) {
            Some(definition) if out.is_empty() => Ok(definition),
            _ => Err(out.into_list(text)),
        }
    }

    /// SHA-256 of the text.
    #[must_use]
    pub const fn digest(&self) -> &[u8; 32] {
        &self.digest
    }

    /// Name of the engine.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What the definition says of itself; may be empty.
    #[must_use]
    pub fn note(&self) -> &str {
        &self.note
    }

    /// The layout.
    #[must_use]
    pub const fn layout(&self) -> &Layout {
        &self.layout
    }

    /// Every feature of the engine, in the order of the table of kinds, then by number.
    #[must_use]
    pub fn features(&self) -> &[Feature] {
        self.places.all()
    }

    /// The feature of an index.
    #[must_use]
    pub fn feature_at(&self, ix: FeatureIx) -> &Feature {
        &self.places.all()[ix.index()]
    }

    /// Features of a kind.
    #[must_use]
    pub fn features_of(&self, kind: FeatureKind) -> &[Feature] {
        self.places.of_kind(kind)
    }

    /// The feature of the engine at a path, without those of parts: the quick way.
    #[must_use]
    pub fn find_feature(&self, path: &str) -> Option<&Feature> {
        self.places.find(path)
    }

    /// The feature at a path, of the engine or of a part with a free mark.
    ///
    /// # Errors
    /// [`UnknownFeature`] with the nearest valid path.
    pub fn feature(&self, path: &str) -> Result<Feature, UnknownFeature> {
        self.places.feature(path)
    }

    /// Features of a kind that belong to a feature: the same cylinder, pin, bank or bearing.
    #[must_use]
    pub fn related(&self, from: &Feature, kind: FeatureKind) -> Vec<&Feature> {
        self.places.related(&self.layout, from, kind)
    }

    /// The ring pack, from the crown down.
    #[must_use]
    pub fn rings(&self) -> &[Ring] {
        self.places.rings()
    }

    /// The size of a named dimension, if it is given.
    #[must_use]
    pub fn dimension(&self, name: &str) -> Option<&Quantity> {
        let found = self.dimensions.iter().find(|given| given.row.name == name);
        found.map(|given| &given.size)
    }

    /// Every dimension given.
    #[must_use]
    pub fn dimensions(&self) -> &[Dimension] {
        &self.dimensions
    }

    /// What something is made of.
    #[must_use]
    pub fn material(&self, role: MaterialRole) -> &Material {
        self.materials.of(role)
    }

    /// A material by name: the definition's own, or one of the table.
    #[must_use]
    pub fn material_named(&self, name: &str) -> Option<&Material> {
        self.materials.named(name)
    }

    /// Every limit, as written.
    #[must_use]
    pub fn limits(&self) -> &[Limit] {
        self.limits.list()
    }

    /// The limit for a value of a feature: one for the station before one for all, then the
    /// one with the most particular feature. An empty station finds only those for all.
    #[must_use]
    pub fn limit(&self, feature: &Feature, name: &str, station: &str) -> Option<&Limit> {
        self.limits.find(feature, name, station)
    }

    /// Whether some limit for a value of a feature is for one station only.
    #[must_use]
    pub fn has_station_limits(&self, feature: &Feature, name: &str) -> bool {
        self.limits.has_stations(feature, name)
    }

    /// Every group of fasteners.
    #[must_use]
    pub fn fasteners(&self) -> &[Fastener] {
        &self.fasteners
    }

    /// The group of that name.
    #[must_use]
    pub fn fastener(&self, group: &str) -> Option<&Fastener> {
        self.fasteners.iter().find(|fastener| fastener.group == group)
    }

    /// Instruments that the build wants.
    #[must_use]
    pub fn instruments(&self) -> &[Wanted] {
        &self.wanted
    }

    /// Stations at which a characteristic must be read; one empty text for a single value.
    #[must_use]
    pub fn stations(&self, row: &Characteristic) -> &[Box<str>] {
        self.stations.needed(row)
    }

    /// Whether a reading of a characteristic may be at a station.
    #[must_use]
    pub fn allows_station(&self, row: &Characteristic, station: &str) -> bool {
        self.stations.allows(row, station)
    }

    /// Conditions that a reading should have stated and did not: of each, any one will do.
    pub fn missing_conditions<'g>(
        &'g self,
        row: &'g Characteristic,
        given: &'g [String],
    ) -> impl Iterator<Item = &'static [&'static str]> + 'g {
        let asked = row.conditions.iter().filter(|needed| match needed.when {
            When::Always => true,
            When::WetLiners => self.layout.liners() == Liners::Wet,
            When::TorquePlate => self.layout.torque_plate(),
        });
        let said = |one_of: &[&str]| one_of.iter().any(|name| given.iter().any(|word| word == name));
        asked.map(|needed| needed.one_of).filter(move |one_of| !said(one_of))
    }

    /// Every operation, edits included, by name and kind of feature.
    #[must_use]
    pub fn operations(&self) -> &[Operation] {
        &self.operations
    }

    /// The operation of a name on a kind of feature.
    #[must_use]
    pub fn operation(&self, name: &str, on: FeatureKind) -> Option<&Operation> {
        let key = |row: &Operation| (row.name.as_str().cmp(name)).then(row.on.cmp(&on));
        let found = self.operations.binary_search_by(key).ok()?;
        Some(&self.operations[found])
    }

    /// What an operation on a feature ends; empty for one that the table does not have.
    #[must_use]
    pub fn ends(&self, operation: &str, touched: &Feature) -> Vec<Ended<'_>> {
        self.ends_fitted(operation, touched, None)
    }

    /// As [`Definition::ends`], for a part that is fitted or allotted at a cylinder.
    #[must_use]
    pub fn ends_fitted(&self, operation: &str, touched: &Feature, cylinder: Option<u8>) -> Vec<Ended<'_>> {
        let Some(row) = self.operation(operation, touched.kind()) else { return Vec::new() };
        let rows = row.ends.iter();
        rows.filter_map(|ends| ends.resolve(&self.layout, touched, cylinder)).collect()
    }

    /// Stages of the work.
    #[must_use]
    pub fn stages(&self) -> &[Stage] {
        &self.procedure.stages
    }

    /// Every check.
    #[must_use]
    pub fn checks(&self) -> &[Check] {
        &self.procedure.checks
    }

    /// The steps as written, in an order that works.
    #[must_use]
    pub fn procedure(&self) -> &[Step] {
        &self.procedure.steps
    }

    /// What the definition adds to, replaces in and drops from the program's own checks, steps and operations.
    #[must_use]
    pub fn edits(&self) -> &[Edit] {
        &self.procedure.edits
    }

    /// The steps on every feature, each after its prerequisites.
    #[must_use]
    pub fn steps(&self) -> &[StepInstance] {
        &self.steps
    }

    /// Index of the step of a name, such as `big-end-clearance/2`.
    #[must_use]
    pub fn step_index(&self, id: &str) -> Option<usize> {
        let at = self.by_id.binary_search_by(|&at| (*self.steps[at].id).cmp(id)).ok()?;
        Some(self.by_id[at])
    }

    /// The step as written that an instance is of.
    #[must_use]
    pub fn step_of(&self, instance: &StepInstance) -> &Step {
        &self.procedure.steps[instance.step]
    }
}

/// What can be read without the layout.
struct Apart {
    name: String,
    note: String,
    dimensions: Vec<Dimension>,
    fasteners: Vec<Fastener>,
    wanted: Vec<Wanted>,
    rings: Vec<Ring>,
}

/// Tables whose reading waits for the layout; known even where it cannot be read.
const WAITING: [&str; 5] = ["limit", "operation", "check", "step", "dropped-step"];

fn read(mut root: Section<'_>, text: &str, out: &mut Problems) -> Option<Definition> {
    if !schema_is_known(&mut root, out) {
        return None;
    }
    let layout = read_layout(&mut root, out);
    let apart = read_apart(&mut root, out);
    let materials = materials::read(&mut root, layout.as_ref(), out);
    for key in WAITING {
        root.get(key);
    }
    let rest = match (layout, apart) {
        (Some(layout), Some(apart)) => Some(read_rest(&mut root, layout, apart, out)),
        _ => None,
    };
    root.finish(out);
    let digest = Sha256::digest(text.as_bytes()).into();
    rest.and_then(|rest| rest.finish(materials?, digest))
}

fn schema_is_known(root: &mut Section<'_>, out: &mut Problems) -> bool {
    let Some(schema) = root.needed_whole(out, "schema", 0..=u8::MAX) else { return false };
    if schema != SCHEMA {
        let hint = "a later program may read it";
        root.problem(out, format!("schema {schema} is not known; this reads {SCHEMA}"), hint);
    }
    schema == SCHEMA
}

fn read_layout(root: &mut Section<'_>, out: &mut Problems) -> Option<Layout> {
    if root.get("layout").is_none() {
        root.problem(out, "the table [layout] is missing", "");
    }
    let table = root.table(out, "layout", "layout")?;
    Layout::read(table, out)
}

fn read_apart(root: &mut Section<'_>, out: &mut Problems) -> Option<Apart> {
    let name = root.needed(out, "name");
    let note = root.text(out, "note").map_or("", |note| note.text).to_owned();
    if root.get("dimensions").is_none() {
        root.problem(out, "the table [dimensions] is missing", "bore, stroke and the rest");
    }
    let table = root.table(out, "dimensions", "dimensions");
    let dimensions = table.map(|table| dimension::read(&table, out));
    let rings = ring::read(root, out);
    let fasteners = fastener::read(root, out);
    let wanted = wanted::read(root, out);
    let name = name?.text.to_owned();
    Some(Apart { name, note, dimensions: dimensions?, fasteners, wanted, rings })
}

/// What was read, but for the materials.
struct Rest {
    apart: Apart,
    layout: Layout,
    places: Places,
    limits: Limits,
    operations: Vec<Operation>,
    procedure: Procedure,
    steps: Vec<StepInstance>,
    stations: StationTable,
}

fn read_rest(root: &mut Section<'_>, layout: Layout, mut apart: Apart, out: &mut Problems) -> Rest {
    let places = Places::new(&layout, std::mem::take(&mut apart.rings));
    let stations = StationTable::new(&layout, &apart.fasteners);
    let limits = limit::read(root, &places, &stations, out);
    let mut procedure = Procedure::built_in(out);
    procedure.edit(root, out);
    let checks: Vec<&str> = procedure.checks.iter().map(|check| &*check.name).collect();
    let mut edits = Vec::new();
    let operations = operation_edit::read(root, &places, &checks, &mut edits, out);
    procedure.edits.extend(edits);
    check_stretch(&apart.fasteners, &limits, out);
    let ground = Ground {
        layout: &layout,
        places: &places,
        limits: &limits,
        fasteners: &apart.fasteners,
        operations: &operations,
        stations: &stations,
    };
    let steps = step::expand(&mut procedure, &ground, out);
    Rest { apart, layout, places, limits, operations, procedure, steps, stations }
}

/// A group that is proven by stretch needs a limit to prove it by.
fn check_stretch(fasteners: &[Fastener], limits: &Limits, out: &mut Problems) {
    let by_stretch = fasteners.iter().filter(|fastener| fastener.method == Method::Stretch);
    for fastener in by_stretch.filter(|fastener| !limits.covers(fastener.place, "stretch")) {
        let place = format!("fastener {}", fastener.group);
        let reason = "it is proven by stretch, but no limit of `stretch` is given there";
        out.add(fastener.at, place, reason, "add a [[limit]] of stretch, or say method = \"torque\"");
    }
}

impl Rest {
    fn finish(self, materials: Materials, digest: [u8; 32]) -> Option<Definition> {
        let mut by_id: Vec<usize> = (0..self.steps.len()).collect();
        by_id.sort_by(|&a, &b| self.steps[a].id.cmp(&self.steps[b].id));
        Some(Definition {
            digest,
            name: self.apart.name,
            note: self.apart.note,
            layout: self.layout,
            places: self.places,
            dimensions: self.apart.dimensions,
            materials,
            limits: self.limits,
            fasteners: self.apart.fasteners,
            wanted: self.apart.wanted,
            operations: self.operations,
            procedure: self.procedure,
            steps: self.steps,
            by_id,
            stations: self.stations,
        })
    }
}
