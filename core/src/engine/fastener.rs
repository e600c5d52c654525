//! Fasteners: how each group is tightened, in the maker's figures. Never a computed torque.

use super::feature::FeatureKind;
use super::name::{self, short};
use super::nearest::suggest;
use super::problem::Problems;
use super::section::{Section, Text, quantity_of};
use crate::quantity::{Kind, Quantity};

/// Most stages of one group.
const MOST_STAGES: usize = 12;

/// How the last stage is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// By torque.
    Torque,
    /// By torque, and proven by the bolts' stretch.
    Stretch,
    /// By torque first, then by angle.
    Angle,
}

/// The methods by their word in a definition.
static METHODS: [(&str, Method); 3] =
    [("torque", Method::Torque), ("stretch", Method::Stretch), ("angle", Method::Angle)];

/// Whether bolts may be used again, by the maker's word.
#[derive(Clone, Debug)]
pub enum Reuse {
    /// Never.
    Never,
    /// Yes.
    Allowed,
    /// As long as a bolt has not grown by more than this over its length when new.
    WithinGrowth(Quantity),
}

/// A group of fasteners.
#[derive(Clone, Debug)]
pub struct Fastener {
    /// Name, such as `rod-bolts`.
    pub group: String,
    /// Kind of feature at which they sit.
    pub place: FeatureKind,
    /// Bolts at each place.
    pub bolts: u8,
    /// Thread, such as `M9x1`.
    pub thread: String,
    /// Property class, such as `10.9`.
    pub class: String,
    /// Lubricant.
    pub lubricant: String,
    /// Where the lubricant goes, and what the head bears on.
    pub faces: String,
    /// In what order the bolts of a place, or the places, are tightened; may be empty.
    pub order: String,
    /// How the last stage is judged.
    pub method: Method,
    /// Whether the bolts are nipped up before the first stage.
    pub nip: bool,
    /// Set points of the stages, in the maker's unit.
    pub stages: Vec<Quantity>,
    /// Whether the bolts may be used again.
    pub reuse: Reuse,
    /// Where all this comes from.
    pub source: String,
    pub(super) at: usize,
}

impl Fastener {
    /// Set point of a stage, counted from 1.
    #[must_use]
    pub fn stage(&self, number: u32) -> Option<&Quantity> {
        let index = usize::try_from(number).ok()?.checked_sub(1)?;
        self.stages.get(index)
    }
}

/// Kinds of features that fasteners sit at.
static SEATS: [FeatureKind; 6] = [
    FeatureKind::Main,
    FeatureKind::RodBolts,
    FeatureKind::Head,
    FeatureKind::Crank,
    FeatureKind::Cam,
    FeatureKind::Block,
];

/// Reads the list `[[fastener]]`.
pub(super) fn read(root: &mut Section<'_>, out: &mut Problems) -> Vec<Fastener> {
    let mut list: Vec<Fastener> = Vec::new();
    for mut table in root.tables(out, "fastener", "fastener") {
        if let Some(fastener) = read_one(&mut table, out) {
            if list.iter().any(|other| other.group == fastener.group) {
                table.problem(out, "this group is given twice", "each group has one name");
            }
            list.push(fastener);
        }
        table.finish(out);
    }
    list
}

fn read_one(table: &mut Section<'_>, out: &mut Problems) -> Option<Fastener> {
    let group = table.needed(out, "group");
    if let Some(group) = group {
        table.place = format!("fastener {}", short(group.text));
        name::check(out, &table.place, group);
    }
    let place = read_place(table, out);
    let bolts = table.needed_whole(out, "bolts", 1..=40);
    let thread = table.needed(out, "thread");
    let class = table.needed(out, "class");
    let lubricant = table.needed(out, "lubricant");
    let faces = table.needed(out, "faces");
    let order = table.text(out, "order").map_or("", |order| order.text).to_owned();
    let method = read_method(table, out);
    let nip = table.truth(out, "nip");
    let stages = read_stages(table, out, method);
    let reuse = read_reuse(table, out);
    let source = table.needed(out, "source");
    Some(Fastener {
        group: group?.text.to_owned(),
        place: place?,
        bolts: bolts?,
        thread: thread?.text.to_owned(),
        class: class?.text.to_owned(),
        lubricant: lubricant?.text.to_owned(),
        faces: faces?.text.to_owned(),
        order,
        method: method?,
        nip,
        stages: stages?,
        reuse: reuse?,
        source: source?.text.to_owned(),
        at: table.at,
    })
}

fn read_place(table: &mut Section<'_>, out: &mut Problems) -> Option<FeatureKind> {
    let text = table.needed(out, "where")?;
    let found = FeatureKind::find(text.text).filter(|kind| SEATS.contains(kind));
    if found.is_none() {
        let names: Vec<&str> = SEATS.iter().map(|kind| kind.name()).collect();
        let reason = format!("no fastener sits at `{}`", short(text.text));
        out.add(text.at, table.place.clone(), reason, suggest(text.text, &names));
    }
    found
}

fn read_method(table: &mut Section<'_>, out: &mut Problems) -> Option<Method> {
    let text = table.needed(out, "method")?;
    let found = METHODS.iter().find(|(word, _)| *word == text.text).map(|&(_, method)| method);
    if found.is_none() {
        let reason = format!("`method` is `{}`", short(text.text));
        out.add(text.at, table.place.clone(), reason, "torque, stretch or angle");
    }
    found
}

fn read_stages(table: &mut Section<'_>, out: &mut Problems, method: Option<Method>) -> Option<Vec<Quantity>> {
    let before = out.count();
    let texts = table.texts(out, "stages");
    if out.count() > before {
        return None;
    }
    if texts.is_empty() || texts.len() > MOST_STAGES {
        let reason = format!("{} stages are given; 1 to {MOST_STAGES} may be", texts.len());
        table.problem(out, reason, "`stages` lists the set points, such as [\"30 N·m\"]");
        return None;
    }
    let method = method?;
    let mut stages: Vec<Quantity> = Vec::new();
    let mut complete = true;
    for (number, &text) in (1..).zip(&texts) {
        match read_stage(table, out, number, text, method, stages.last()) {
            Some(stage) => stages.push(stage),
            None => complete = false,
        }
    }
    if complete && method == Method::Angle && stages.last().map(Quantity::kind) == Some(Kind::Torque) {
        table.problem(out, "the last stage is a torque", "by angle, the last stage is an angle");
        complete = false;
    }
    complete.then_some(stages)
}

fn read_stage(
    table: &Section<'_>,
    out: &mut Problems,
    number: usize,
    text: Text<'_>,
    method: Method,
    before: Option<&Quantity>,
) -> Option<Quantity> {
    let place = format!("{}, stage {number}", table.place);
    let kinds: &[Kind] = match method {
        Method::Torque | Method::Stretch => &[Kind::Torque],
        Method::Angle => &[Kind::Torque, Kind::Angle],
    };
    let stage = quantity_of(out, &place, text, kinds)?;
    if stage.amount().base() <= 0 {
        out.add(text.at, place, format!("{stage} is not above nought"), "");
        return None;
    }
    let torque_falls = before.is_some_and(|before| match (before.kind(), stage.kind()) {
        (Kind::Torque, Kind::Torque) => before.amount() >= stage.amount(),
        (Kind::Angle, Kind::Torque) => true,
        _ => false,
    });
    if torque_falls {
        let reason = format!("{stage} does not follow on the stage before");
        out.add(text.at, place, reason, "torques rise, and no torque follows an angle");
        return None;
    }
    Some(stage)
}

fn read_reuse(table: &mut Section<'_>, out: &mut Problems) -> Option<Reuse> {
    let growth = table.quantity(out, "growth", Kind::Length);
    let text = table.needed(out, "reuse")?;
    match (text.text, growth) {
        ("never", None) => Some(Reuse::Never),
        ("allowed", None) => Some(Reuse::Allowed),
        ("within-growth", Some(growth)) => Some(Reuse::WithinGrowth(growth)),
        ("within-growth", None) => {
            let hint = "`growth` gives it, such as \"0.05 mm\"";
            out.add(text.at, table.place.clone(), "how much growth is missing", hint);
            None
        }
        ("never" | "allowed", Some(_)) => {
            let hint = "leave `growth` out, or say `reuse = \"within-growth\"`";
            out.add(text.at, table.place.clone(), "`growth` is for within-growth", hint);
            None
        }
        (other, _) => {
            let reason = format!("`reuse` is `{}`", short(other));
            out.add(text.at, table.place.clone(), reason, "never, allowed or within-growth");
            None
        }
    }
}
