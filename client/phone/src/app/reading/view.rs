//! What is to be seen while readings are taken, all texts made.

use gudgeon_core::entry::EntryId;
use gudgeon_core::quantity::Unit;
use gudgeon_core::sheet::{State, VerdictFigure};

use super::{Order, Panel};
use crate::app::Failure;

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// Where the reading is taken, such as `bore/1 top, thrust`.
    pub spot: String,
    /// What is read, in the trade's words.
    pub about: &'static str,
    /// How many of the route's stations are read.
    pub progress: (usize, usize),
    /// What stands at this station.
    pub stands: String,
    /// Another person's value is hidden here.
    pub hidden: bool,
    /// The feature, with the station at hand.
    pub drawing: Drawing,
    /// The value as typed.
    pub typed: String,
    /// Its unit.
    pub unit: String,
    /// Before the value, where the deviation is typed: the set size.
    pub set_to: Option<String>,
    /// Beneath: the same in the other unit; with a deviation the size it makes.
    pub beneath: String,
    /// The verdict there would be.
    pub verdict: Option<VerdictView>,
    /// Derived values as they would be with it: style of the state, and the words.
    pub would_follow: Vec<(&'static str, String)>,
    /// What there is to say of the value and the gauge at once.
    pub remarks: Vec<String>,
    /// What is shown in the place of the keypad.
    pub panel: Panel,
    /// Gauge, temperature, conditions, reader: each opens its panel.
    pub tiles: Vec<Tile>,
    /// Stations of this feature.
    pub stations: Vec<StationLine>,
    /// Features read alike: path, number or name, whether it is this one, read and to be read.
    pub features: Vec<(String, String, bool, (usize, usize))>,
    /// Orders of reading; empty where there is no choice.
    pub orders: Vec<Choice<Order>>,
    /// Gauges; while their panel is open.
    pub gauges: Vec<GaugeLine>,
    /// Gauge, and what it is set on, as typed.
    pub gauge: (String, String),
    /// Marks of what it can be set on.
    pub masters: Vec<String>,
    /// The gauge's check beside this set.
    pub check: CheckView,
    /// Temperatures of part and gauge, as typed.
    pub temperatures: (String, String),
    /// What a reading must state, of each list one.
    pub conditions: Vec<Vec<Choice<&'static str>>>,
    /// Who may have read it.
    pub people: Vec<PersonLine>,
    /// The note, as typed.
    pub note: String,
    /// The parts that may have been in hand; empty: the place says it, or none came in.
    pub parts: Vec<Choice<String>>,
    /// Units to choose.
    pub units: Vec<Choice<Unit>>,
    /// Whether a deviation can be typed, and is.
    pub dial: Option<bool>,
    /// The set size as typed.
    pub set_size: String,
    /// The size meant at 20 °C, as typed.
    pub target: String,
    /// What to set the gauge to, or why that cannot be said.
    pub setting: Option<Result<String, Failure>>,
    /// Who would sign for it; none: nobody has said so.
    pub holder: Option<String>,
    /// Being kept: the screen says nothing more than that yet.
    pub keeping: bool,
    /// The last reading that was kept, and where it is.
    pub kept: Option<(String, String)>,
    /// What that did, and whether it can be taken back.
    pub after: Kept,
    /// What is wrong.
    pub problem: Option<Failure>,
}

/// Something to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice<T> {
    /// What.
    pub what: T,
    /// Its word.
    pub word: String,
    /// What it says; may be empty.
    pub about: &'static str,
    /// Whether it is chosen.
    pub chosen: bool,
}

/// Opens a panel, and says what is set there.
#[derive(Clone, Debug, PartialEq)]
pub struct Tile {
    /// Which.
    pub panel: Panel,
    /// Its name.
    pub name: &'static str,
    /// What is set.
    pub says: String,
    /// Something is missing there.
    pub wants: bool,
}

/// A station to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct StationLine {
    /// Its name.
    pub station: String,
    /// In words.
    pub word: String,
    /// What stands there.
    pub says: String,
    /// Style of its state.
    pub state: &'static str,
    /// Whether it is the one at hand.
    pub here: bool,
}

/// A gauge to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeLine {
    /// Its mark.
    pub mark: String,
    /// Sort, range, worth.
    pub about: String,
    /// What there is to say of it before it is used.
    pub remarks: Vec<String>,
    /// Whether it is made for this.
    pub reads_this: bool,
    /// Whether it is the one in hand.
    pub chosen: bool,
}

/// A person to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct PersonLine {
    /// None: who holds the phone.
    pub person: Option<EntryId>,
    /// Their name.
    pub name: String,
    /// Whether it is the one who reads.
    pub chosen: bool,
}

/// The check of the gauge.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CheckView {
    /// Which gauge, on what; empty where one of them is not named.
    pub what: String,
    /// How it stands, and what comes next.
    pub says: String,
}

/// What the last reading did.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Kept {
    /// Values that rest on it: style of the state, and the words.
    pub follows: Vec<(&'static str, String)>,
    /// It can be taken back.
    pub can_take_back: bool,
    /// It was taken back.
    pub taken_back: bool,
}

/// A verdict while it is typed.
#[derive(Clone, Debug, PartialEq)]
pub struct VerdictView {
    /// How it is drawn.
    pub state: State,
    /// The word.
    pub word: String,
    /// What would make it one, where it is none.
    pub way_out: Option<String>,
    /// Its numbers; none where there is nothing to draw against.
    pub figure: Option<VerdictFigure>,
}

/// What the drawing of a feature looks like.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Outline {
    /// A cylinder bore, cut open.
    Bore,
    /// A round hole, end on.
    Hole,
    /// A journal or pin, from the side.
    Shaft,
    /// A size between two faces.
    #[default]
    Size,
}

/// A place on the drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// Its name.
    pub name: String,
    /// All that is to be read there is read.
    pub read: bool,
    /// It is the one at hand.
    pub here: bool,
}

/// The feature, with the station at hand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Drawing {
    /// What it looks like.
    pub outline: Outline,
    /// Levels along it.
    pub levels: Vec<Mark>,
    /// Directions across it.
    pub ways: Vec<Mark>,
}
