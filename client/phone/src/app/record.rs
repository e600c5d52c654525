//! One record: what can be read, with what stands, and the steps.

use gudgeon_core::assess::{Progress, show};
use gudgeon_core::engine::characteristic;
use gudgeon_core::entry::DocumentId;

use super::{Desk, Place};

/// Which record.
pub struct Model {
    record: DocumentId,
}

/// What may happen.
pub enum Event {
    /// A value was tapped: feature and characteristic.
    Read(String, String),
    /// A step was tapped.
    Step(String),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// The steps that can be done now, in order; then the rest.
    pub steps: Vec<StepLine>,
    /// What can be read.
    pub features: Vec<FeatureLine>,
    /// Why there is nothing to be seen.
    pub nothing: Option<&'static str>,
}

/// A step on a line.
#[derive(Clone, Debug, PartialEq)]
pub struct StepLine {
    /// Name.
    pub id: String,
    /// What it is.
    pub title: String,
    /// How far.
    pub progress: &'static str,
    /// Whether something can be done on it now.
    pub live: bool,
}

/// A feature with what is read on it.
#[derive(Clone, Debug, PartialEq)]
pub struct FeatureLine {
    /// Its path.
    pub path: String,
    /// Characteristic, and the value that stands.
    pub values: Vec<(&'static str, String)>,
}

impl Model {
    pub(super) fn open(record: DocumentId, desk: &mut Desk) -> Self {
        desk.look(record);
        Self { record }
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Read(feature, name) => desk.go(Place::Reading(self.record, feature, name)),
            Event::Step(step) => desk.go(Place::Step(self.record, step)),
        }
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let Some(sight) = desk.sight(self.record) else {
            return View { nothing: Some("this record is not on this phone yet"), ..View::default() };
        };
        let Some(definition) = sight.assessment.definition() else {
            return View { nothing: Some("the engine's definition is not here yet"), ..View::default() };
        };
        let step = |(state, instance)| {
            let state: &gudgeon_core::assess::StepState = state;
            StepLine {
                id: state.id.to_string(),
                title: definition.step_of(instance).title.to_string(),
                progress: state.progress.word(),
                live: !matches!(state.progress, Progress::Blocked | Progress::Signed),
            }
        };
        let mut steps: Vec<_> = sight.assessment.steps().iter().zip(definition.steps()).map(step).collect();
        steps.sort_by_key(|line| !line.live);
        let feature = |feature: &gudgeon_core::engine::Feature| {
            let value = |name| match sight.assessment.value(feature.path(), name) {
                Some(judged) => show::value_against_limit(judged),
                None => "not read".to_owned(),
            };
            let rows = characteristic::of_kind(feature.kind()).iter();
            let values = rows.map(|row| (row.name, value(row.name))).collect();
            FeatureLine { path: feature.path().to_owned(), values }
        };
        let features = definition.features().iter().map(feature).filter(|line| !line.values.is_empty());
        View { steps, features: features.collect(), nothing: None }
    }
}
