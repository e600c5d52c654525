//! What a worksheet is: one row that says all there is to say of a computation.

use std::fmt;

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::Input;

/// Part of the job that a worksheet belongs to; also the order in which they are listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Section {
    /// One unit into another.
    Units,
    /// Sizes at other temperatures.
    Temperature,
    /// What a reading proves.
    Decisions,
    /// Out-of-round, taper, sizes to bore or hone to.
    BoreForm,
    /// Clearances of plain bearings.
    Bearings,
    /// Bolts, torque and wrenches.
    Fasteners,
    /// Ring gaps.
    Rings,
    /// Compression, volumes, movement.
    Geometry,
    /// Weights and what spins.
    Balance,
    /// Crank and rods.
    Crank,
    /// Cam timing.
    Cam,
    /// The hatch of a hone.
    Honing,
    /// Which part goes where.
    Matching,
    /// Readings taken again.
    Repeats,
}

impl Section {
    /// In words.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Units => "units",
            Self::Temperature => "temperature",
            Self::Decisions => "decisions with uncertainty",
            Self::BoreForm => "bore form",
            Self::Bearings => "bearings",
            Self::Fasteners => "fasteners",
            Self::Rings => "rings",
            Self::Geometry => "geometry and compression",
            Self::Balance => "balance",
            Self::Crank => "crank and rods",
            Self::Cam => "cam timing",
            Self::Honing => "honing",
            Self::Matching => "matching",
            Self::Repeats => "repeats and people",
        }
    }
}

/// How well a formula or a figure is founded. Shown with every answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// A published standard, table or worked example.
    Published,
    /// Follows from geometry or arithmetic alone.
    Computed,
    /// From memory; check it against the document before quoting it.
    Memory,
    /// Common practice, no source: a default to be edited, never a limit.
    CommonPractice,
}

impl Standing {
    /// In words, for behind a source.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Computed => "computed",
            Self::Memory => "from memory",
            Self::CommonPractice => "common practice, no source",
        }
    }
}

/// Where a formula comes from.
#[derive(Clone, Copy, Debug)]
pub struct Source {
    /// Document, with clause or chapter.
    pub text: &'static str,
    /// How well founded.
    pub standing: Standing,
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Where only a part of it is from memory, the text says which part.
        let words = self.standing.words();
        if self.text.contains(words) { f.write_str(self.text) } else { write!(f, "{} ({words})", self.text) }
    }
}

/// One output.
#[derive(Clone, Copy, Debug)]
pub struct Output {
    /// Name, such as `clearance`.
    pub name: &'static str,
    /// Unit it is given in; empty for a word or a bare number.
    pub unit: &'static str,
    /// Digits behind the point that are shown; eight more are given out for machines.
    pub decimals: u8,
    /// What it is.
    pub about: &'static str,
}

impl Output {
    /// One output.
    pub(super) const fn new(
        name: &'static str,
        unit: &'static str,
        decimals: u8,
        about: &'static str,
    ) -> Self {
        Self { name, unit, decimals, about }
    }
}

/// One computation: inputs, outputs, and what makes the number trustworthy.
#[derive(Clone, Copy, Debug)]
pub struct Worksheet {
    /// Name, such as `oil-clearance`.
    pub name: &'static str,
    /// What it is for, in a few words.
    pub title: &'static str,
    /// Where it is listed.
    pub section: Section,
    /// What it takes.
    pub inputs: &'static [Input],
    /// Inputs that go together, as typed: invented, to show how it is written.
    pub example: &'static str,
    /// What it gives, in order.
    pub outputs: &'static [Output],
    /// The formula with its symbols.
    pub formula: &'static str,
    /// Within which bounds it holds.
    pub valid: &'static str,
    /// Where it comes from.
    pub source: Source,
    /// The mistakes people make.
    pub mistakes: &'static [&'static str],
    /// Cautions, where the work can hurt somebody or the figure must come from the maker.
    pub cautions: &'static [&'static str],
    /// The adapter from inputs by name to outputs by name.
    pub compute: fn(&Given) -> Result<Answer, WorkError>,
}

impl Worksheet {
    /// Computes from texts such as `housing=61.005mm`.
    ///
    /// # Errors
    /// Every problem with the inputs at once, each naming its input and the way out.
    pub fn work<T: AsRef<str>>(&self, texts: &[T]) -> Result<(Given, Answer), WorkError> {
        let given = Given::read(self, texts)?;
        let answer = (self.compute)(&given)?;
        let answer = given.taken_notes().fold(answer, Answer::note);
        Ok((given, answer))
    }

    /// The output of a name.
    #[must_use]
    pub fn output(&self, name: &str) -> Option<&'static Output> {
        self.outputs.iter().find(|output| output.name == name)
    }
}
