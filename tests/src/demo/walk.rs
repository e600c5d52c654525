//! Walking the procedure: for every step that can be done, its evidence, then its signatures.

use gudgeon_core::assess::{Progress, Status, StepState};
use gudgeon_core::engine::{
    Ask, Asked, Definition, Feature, FeatureKind, FeatureRef, Signer, Step, StepInstance, Target,
    characteristic, derivation,
};
use gudgeon_core::entry::Payload;

use super::goods::{self, Phase};
use super::plan::Plan;
use super::shop::{Failure, Shop, Sight};
use super::{PEOPLE, name_of};

/// A cold shop.
pub(super) const SHOP_TEMPERATURE: &str = "12C";

/// Read by one pair of hands alone, so that it shows as read beside the size at 20 degC.
const READ_ALONE: [&str; 2] = ["honed/1", "piston-measured/1"];

/// Who does the steps of a stage: the lead decides, the machinist machines, the fitter fits.
fn performer(step: &Step) -> &'static str {
    match step.stage {
        _ if step.sign == Signer::Lead => "ida",
        7 | 8 | 10 if !step.id.starts_with("big-end") => "ben",
        _ => "cleo",
    }
}

/// Who reads blind and looks over the shoulder.
fn second(step: &Step) -> &'static str {
    if performer(step) == "cleo" { "ben" } else { "cleo" }
}

/// Which steps are walked: up to a stage, and let through.
pub(super) struct Until<'a> {
    stage: u8,
    wanted: &'a dyn Fn(&str) -> bool,
}

/// Does every step up to a stage that `wanted` lets through, until nothing more can be done.
///
/// The fitter and the machinist carry to each other as one waits for the other; the lead's
/// phone gets their files when they can do no more.
///
/// # Errors
/// What a command says, or a step that cannot be done with what the demo has.
pub(super) fn walk(shop: &mut Shop, stage: u8, wanted: &dyn Fn(&str) -> bool) -> Result<(), Failure> {
    let until = Until { stage, wanted };
    for _ in 0..80 {
        let mut moved = false;
        for who in ["cleo", "ben"] {
            moved |= turn(shop, who, &until)?;
        }
        if !moved && !turn(shop, "ida", &until)? {
            return shop.merge(&PEOPLE);
        }
    }
    Err("the walk does not come to an end".to_owned())
}

/// Everything that one person can do now.
fn turn(shop: &mut Shop, who: &str, until: &Until) -> Result<bool, Failure> {
    shop.catch_up(who, &PEOPLE)?;
    let sight = shop.look(who)?;
    let plan = Turn { sight: &sight, who, until }.plan()?;
    drop(sight);
    plan.enter(shop, who)
}

/// One person before the record.
struct Turn<'a> {
    sight: &'a Sight,
    who: &'a str,
    until: &'a Until<'a>,
}

impl Turn<'_> {
    fn plan(&self) -> Result<Plan, Failure> {
        let definition = self.sight.assessment.definition().ok_or("no definition")?;
        let mut plan = Plan::default();
        for (instance, state) in definition.steps().iter().zip(self.sight.assessment.steps()) {
            let step = definition.step_of(instance);
            if step.stage > self.until.stage || !(self.until.wanted)(&instance.id) {
                continue;
            }
            if performer(step) == self.who && is_open(state) {
                self.perform(definition, instance, state, &mut plan)?;
            }
            if step.second_person && second(step) == self.who {
                self.look_over(definition, instance, state, &mut plan)?;
            }
        }
        Ok(plan)
    }

    /// Evidence of a step, and the signature once the second person has read too.
    fn perform(
        &self,
        definition: &Definition,
        instance: &StepInstance,
        state: &StepState,
        plan: &mut Plan,
    ) -> Result<(), Failure> {
        let step = definition.step_of(instance);
        let twice = is_twice(step, instance);
        for (ask, evidence) in instance.asks.iter().zip(&state.evidence) {
            let reads = matches!(ask.asked, Asked::Read(_) | Asked::Judged(_));
            if !evidence.met || twice && reads {
                self.supply(definition, ask, instance, plan)?;
            }
        }
        if !twice || self.all_read(definition, instance, second(step)) {
            plan.sign(&instance.id);
        }
        Ok(())
    }

    /// The blind reading of the second person, and their signature.
    fn look_over(
        &self,
        definition: &Definition,
        instance: &StepInstance,
        state: &StepState,
        plan: &mut Plan,
    ) -> Result<(), Failure> {
        let first_stands = state.signature.as_ref().is_some_and(|signature| signature.stands());
        let is_reading = |ask: &Ask| matches!(ask.asked, Asked::Read(_) | Asked::Judged(_));
        // What is not yet honed or not yet there is not read.
        let mut rest = instance.asks.iter().zip(&state.evidence).filter(|(ask, _)| !is_reading(ask));
        let there = rest.all(|(_, evidence)| evidence.met);
        if is_open(state) && there && is_twice(definition.step_of(instance), instance) {
            for ask in instance.asks.iter().filter(|ask| is_reading(ask)) {
                self.supply(definition, ask, instance, plan)?;
            }
        }
        let fell = matches!(state.progress, Progress::Stale | Progress::WithoutEvidence);
        if state.progress == Progress::WantsSecond || fell && first_stands {
            plan.second(&instance.id);
        }
        Ok(())
    }

    /// What is missing of one piece of evidence.
    fn supply(
        &self,
        definition: &Definition,
        ask: &Ask,
        instance: &StepInstance,
        plan: &mut Plan,
    ) -> Result<(), Failure> {
        let (path, kind) = self.place(definition, ask);
        match &ask.asked {
            Asked::Read(name) | Asked::Judged(name) => {
                let kind = kind.ok_or_else(|| format!("{name} is asked for nowhere"))?;
                let reading = Wanted { path: &path, kind, name, station: &ask.station, instance };
                return self.measure(definition, &reading, plan);
            }
            Asked::Check(name) => plan.check(name, &path, ""),
            Asked::Operation(name) => plan.work(name, &path),
            Asked::Part(sort) => plan.part(sort, &path),
            Asked::Decision(subject) => {
                let text = "bores +0.50, mains and pins -0.25, new pistons, shells and rod bolts";
                plan.command(&["decide", subject, text]);
            }
            Asked::Approval(subject) => {
                let how = "by telephone, after the sizes and the price were read to them";
                plan.command(&["approve", subject, "--who", "the owner", "--how", how]);
            }
            Asked::Tightening(group) => plan.tighten(group, &path),
            Asked::GaugeCheck(_) => plan.command(&[
                "gauge",
                "check",
                "B1",
                "--on",
                "M1",
                "--nominal",
                "80.000mm",
                "--shows",
                "80.000mm",
                "--passed",
            ]),
        }
        Ok(())
    }

    fn place(&self, definition: &Definition, ask: &Ask) -> (String, Option<FeatureKind>) {
        match ask.target {
            Target::Engine => (String::new(), None),
            Target::Feature(at) => {
                let feature = definition.feature_at(at);
                (feature.path().to_owned(), Some(feature.kind()))
            }
            Target::PartAt { place, part } => {
                let at = definition.feature_at(place);
                let sort = part.row().pattern.split('/').next().unwrap_or_default();
                let mut here = self.sight.assessment.parts_in(at.path()).map(|(mark, _)| mark);
                let here = here.find_map(|mark| mark.strip_prefix(sort)?.strip_prefix('/'));
                let mark = here.map_or_else(|| mark_of(at), str::to_owned);
                (part.row().pattern.replace("{mark}", &mark), Some(part))
            }
        }
    }

    /// A line for every station that this person has not read, or whose reading no longer stands.
    fn measure(&self, definition: &Definition, wanted: &Wanted, plan: &mut Plan) -> Result<(), Failure> {
        if let Some(row) = derivation::find(wanted.kind, wanted.name) {
            for input in row.inputs.iter().filter(|input| input.from == FeatureRef::Same) {
                let value = self.sight.assessment.value(wanted.path, input.characteristic);
                if value.is_none_or(|value| !value.is_complete()) {
                    self.measure(definition, &Wanted { name: input.characteristic, ..*wanted }, plan)?;
                }
            }
            return Ok(());
        }
        let Wanted { path, kind, name, station, instance } = *wanted;
        let row = characteristic::find(kind, name).ok_or_else(|| format!("{path} has no {name}"))?;
        let figure = goods::find(path, name).ok_or_else(|| format!("no figure for {name} of {path}"))?;
        let conditions: Vec<&str> = definition.missing_conditions(row, &[]).map(|one_of| one_of[0]).collect();
        let step = definition.step_of(instance);
        let twice = is_twice(step, instance);
        let shift = u32::from(second(step) == self.who);
        for (number, at) in (0u32..).zip(definition.stations(row)) {
            if !station.is_empty() && **at != *station || twice && self.has_read(self.who, path, name, at) {
                continue;
            }
            let value = figure.value(phase(step), path, at, number, shift);
            let cond = conditions.join(" ");
            let blind = if twice { "yes" } else { "no" };
            let (gauge, master) = (figure.gauge, figure.master);
            plan.row(format!(
                "{path},{name},{value},{at},{gauge},{master},{SHOP_TEMPERATURE},{cond},{blind}\n"
            ));
        }
        Ok(())
    }

    /// Whether a person has read everything that a step asks to be read.
    fn all_read(&self, definition: &Definition, instance: &StepInstance, who: &str) -> bool {
        instance.asks.iter().all(|ask| {
            let (Asked::Read(name) | Asked::Judged(name), (path, Some(kind))) =
                (&ask.asked, self.place(definition, ask))
            else {
                return true;
            };
            let stations = characteristic::find(kind, name).map(|row| definition.stations(row));
            stations.into_iter().flatten().all(|at| self.has_read(who, &path, name, at))
        })
    }

    /// Whether a person's reading of a station still speaks, agreed with or not.
    fn has_read(&self, who: &str, path: &str, name: &str, station: &str) -> bool {
        let (assessment, roster) = (&self.sight.assessment, self.sight.workshop.roster());
        (0..).zip(self.sight.record.log().folded()).any(|(ix, statement)| {
            let Ok(Payload::Reading(reading)) = &statement.payload else { return false };
            (&*reading.feature, &*reading.characteristic, &*reading.station) == (path, name, station)
                && matches!(assessment.status(ix), Status::Stands | Status::Disputed | Status::Outvoted)
                && assessment.person(ix).and_then(|person| roster.name_of(person)) == Some(name_of(who))
        })
    }
}

/// What is to be read, for which step.
#[derive(Clone, Copy)]
struct Wanted<'a> {
    path: &'a str,
    kind: FeatureKind,
    name: &'a str,
    station: &'a str,
    instance: &'a StepInstance,
}

/// Whether two people read it, blind to each other.
fn is_twice(step: &Step, instance: &StepInstance) -> bool {
    step.blind && !READ_ALONE.contains(&&*instance.id)
}

fn is_open(state: &StepState) -> bool {
    let first_fell = state.signature.as_ref().is_some_and(|signature| !signature.stands());
    let open = match state.progress {
        Progress::Open | Progress::ReadyToSign => true,
        Progress::Stale | Progress::WithoutEvidence => first_fell,
        Progress::Blocked | Progress::WantsSecond | Progress::Signed => false,
    };
    open && state.waits_for.is_empty()
}

/// Before the deck is cut the pistons stand as they were found.
fn phase(step: &Step) -> Phase {
    if step.stage < 6 || step.id == "trial-height" { Phase::Found } else { Phase::Made }
}

/// Parts are marked by letter, so that a mark is not taken for a cylinder.
fn mark_of(place: &Feature) -> String {
    super::plan::letter(place.path()).to_string()
}
