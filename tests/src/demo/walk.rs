//! Walking the procedure: for every step that can be done, its evidence, then its signatures.

use gudgeon_core::assess::{Evidence, Progress};
use gudgeon_core::engine::{
    Ask, Asked, Definition, Feature, FeatureKind, FeatureRef, StepInstance, Target, characteristic,
    derivation,
};

use super::goods::{self, Phase};
use super::shop::{Failure, Shop, Sight};

/// The three who carry to each other.
pub(super) const PEOPLE: [&str; 3] = ["ida", "ben", "cleo"];

/// A cold shop.
const SHOP_TEMPERATURE: &str = "12C";

/// Who does the steps of a stage: the lead decides, the machinist machines, the fitter fits.
fn performer(stage: u8, lead: bool, id: &str) -> &'static str {
    match stage {
        _ if lead => "ida",
        7 | 8 | 10 if !id.starts_with("big-end") => "ben",
        _ => "cleo",
    }
}

/// Who looks over the shoulder.
fn second(performer: &str) -> &'static str {
    if performer == "cleo" { "ben" } else { "cleo" }
}

/// What one person enters at a time.
#[derive(Default)]
struct Sheet {
    rows: String,
    commands: Vec<Vec<String>>,
}

impl Sheet {
    fn command(&mut self, words: &[&str]) {
        let words: Vec<String> = words.iter().map(|word| (*word).to_owned()).collect();
        if !self.commands.contains(&words) {
            self.commands.push(words);
        }
    }
}

/// Does every step up to a stage that `wanted` lets through, until nothing more can be done.
///
/// # Errors
/// What a command says, or a step that cannot be done with what the demo has.
pub(super) fn walk(shop: &mut Shop, stage: u8, wanted: &dyn Fn(&str) -> bool) -> Result<(), Failure> {
    for _ in 0..80 {
        let mut moved = false;
        for who in PEOPLE {
            moved |= work(shop, who, stage, wanted)?;
            moved |= countersign(shop, who, stage, wanted)?;
        }
        if !moved {
            return Ok(());
        }
    }
    Err("the walk does not come to an end".to_owned())
}

fn instances(sight: &Sight) -> Result<(&Definition, &[StepInstance]), Failure> {
    let definition = sight.assessment.definition().ok_or("no definition")?;
    Ok((definition, definition.steps()))
}

/// Evidence and first signatures of the steps of one person.
fn work(shop: &mut Shop, who: &str, stage: u8, wanted: &dyn Fn(&str) -> bool) -> Result<bool, Failure> {
    let sight = shop.look(who)?;
    let (definition, steps) = instances(&sight)?;
    let mut sheet = Sheet::default();
    let mut sign: Vec<String> = Vec::new();
    for (instance, state) in steps.iter().zip(sight.assessment.steps()) {
        let step = definition.step_of(instance);
        let lead = step.sign == gudgeon_core::engine::Signer::Lead;
        let mine =
            performer(step.stage, lead, &step.id) == who && step.stage <= stage && wanted(&instance.id);
        let first_stands = state.signature.as_ref().is_some_and(|s| s.stands());
        let open = match state.progress {
            Progress::Open | Progress::ReadyToSign => true,
            Progress::Stale => !first_stands,
            Progress::Blocked | Progress::WantsSecond | Progress::Signed => false,
        };
        if mine && open && state.waits_for.is_empty() {
            for (ask, evidence) in instance.asks.iter().zip(&state.evidence) {
                supply(&sight, definition, ask, evidence, phase(step.stage), &mut sheet)?;
            }
            sign.push(instance.id.to_string());
        }
    }
    drop(sight);
    enter(shop, who, &sheet)?;
    for step in &sign {
        shop.run(who, &["sign", step])?;
    }
    if !sign.is_empty() {
        shop.carry(who, &PEOPLE)?;
    }
    Ok(!sign.is_empty())
}

/// Second signatures that one person owes.
fn countersign(
    shop: &mut Shop,
    who: &str,
    stage: u8,
    wanted: &dyn Fn(&str) -> bool,
) -> Result<bool, Failure> {
    let sight = shop.look(who)?;
    let (definition, steps) = instances(&sight)?;
    let mut owed = Vec::new();
    for (instance, state) in steps.iter().zip(sight.assessment.steps()) {
        let step = definition.step_of(instance);
        let lead = step.sign == gudgeon_core::engine::Signer::Lead;
        let asked = second(performer(step.stage, lead, &step.id)) == who && step.stage <= stage;
        let first_stands = state.signature.as_ref().is_some_and(|s| s.stands());
        let stale_second = state.progress == Progress::Stale && first_stands;
        if asked && wanted(&instance.id) && (state.progress == Progress::WantsSecond || stale_second) {
            owed.push(instance.id.to_string());
        }
    }
    drop(sight);
    for step in &owed {
        shop.run(who, &["sign", step, "--second"])?;
    }
    if !owed.is_empty() {
        shop.carry(who, &PEOPLE)?;
    }
    Ok(!owed.is_empty())
}

const fn phase(stage: u8) -> Phase {
    if stage < 6 { Phase::Found } else { Phase::Made }
}

fn enter(shop: &mut Shop, who: &str, sheet: &Sheet) -> Result<(), Failure> {
    for command in &sheet.commands {
        let words: Vec<&str> = command.iter().map(String::as_str).collect();
        shop.run(who, &words)?;
    }
    if sheet.rows.is_empty() {
        return Ok(());
    }
    let file = shop.file(&format!("set-{who}.csv"));
    let head = "feature,characteristic,value,station,gauge,master,both-at,cond,set\n";
    std::fs::write(&file, format!("{head}{}", sheet.rows)).map_err(|error| error.to_string())?;
    shop.run(who, &["read", "--csv", &file])?;
    Ok(())
}

/// What is missing of one piece of evidence.
fn supply(
    sight: &Sight,
    definition: &Definition,
    ask: &Ask,
    evidence: &Evidence,
    phase: Phase,
    sheet: &mut Sheet,
) -> Result<(), Failure> {
    if evidence.met {
        return Ok(());
    }
    let (path, kind) = place(sight, definition, ask);
    match &ask.asked {
        Asked::Read(name) | Asked::Judged(name) => {
            measure(sight, definition, &path, kind, name, &ask.station, phase, sheet)
        }
        Asked::Check(name) => {
            let words: Vec<&str> =
                ["checked", name].into_iter().chain((!path.is_empty()).then_some(&*path)).collect();
            sheet.command(&words);
            Ok(())
        }
        Asked::Operation(name) => {
            sheet.command(&["work", name, &path]);
            Ok(())
        }
        Asked::Part(sort) => {
            part(sort, &path, sheet);
            Ok(())
        }
        Asked::Decision(subject) => {
            let text = "bores +0.50, mains and pins -0.25, new pistons, shells and rod bolts";
            sheet.command(&["decide", subject, text]);
            Ok(())
        }
        Asked::Tightening(group) => {
            tighten(definition, group, &path, sheet);
            Ok(())
        }
        Asked::GaugeCheck(_) => {
            let words = [
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
            ];
            sheet.command(&words);
            Ok(())
        }
    }
}

fn place(sight: &Sight, definition: &Definition, ask: &Ask) -> (String, Option<FeatureKind>) {
    match ask.target {
        Target::Engine => (String::new(), None),
        Target::Feature(at) => {
            let feature = definition.feature_at(at);
            (feature.path().to_owned(), Some(feature.kind()))
        }
        Target::PartAt { place, part } => {
            let at = definition.feature_at(place);
            let sort = part.row().pattern.split('/').next().unwrap_or_default();
            let here =
                sight.assessment.parts_in(at.path()).find(|(mark, _)| mark.starts_with(&format!("{sort}/")));
            let mark = here.map_or_else(
                || mark_of(at),
                |(mark, _)| mark.rsplit('/').next().unwrap_or_default().to_owned(),
            );
            (part.row().pattern.replace("{mark}", &mark), Some(part))
        }
    }
}

/// Pistons are marked by letter, so that a mark is not taken for a cylinder.
fn mark_of(place: &Feature) -> String {
    let number = place.number().unwrap_or(1);
    char::from(b'A' + number.saturating_sub(1)).to_string()
}

#[allow(clippy::too_many_arguments)] // what a reading is made of
fn measure(
    sight: &Sight,
    definition: &Definition,
    path: &str,
    kind: Option<FeatureKind>,
    name: &str,
    station: &str,
    phase: Phase,
    sheet: &mut Sheet,
) -> Result<(), Failure> {
    let kind = kind.ok_or_else(|| format!("{name} is asked for nowhere"))?;
    if let Some(row) = derivation::find(kind, name) {
        for input in row.inputs.iter().filter(|input| input.from == FeatureRef::Same) {
            let missing =
                sight.assessment.value(path, input.characteristic).is_none_or(|value| !value.is_complete());
            if missing {
                measure(sight, definition, path, Some(kind), input.characteristic, "", phase, sheet)?;
            }
        }
        return Ok(());
    }
    let row = characteristic::find(kind, name).ok_or_else(|| format!("{path} has no {name}"))?;
    let good =
        goods::find(path, name).ok_or_else(|| format!("the demo has no figure for {name} of {path}"))?;
    let conditions: Vec<&str> = definition.missing_conditions(row, &[]).map(|one_of| one_of[0]).collect();
    for (number, at) in (0u32..).zip(definition.stations(row)) {
        if !station.is_empty() && **at != *station {
            continue;
        }
        let value = good.value(phase, at, number);
        let cond = conditions.join(",");
        let line = format!(
            "{path},{name},{value},{at},{},{},{SHOP_TEMPERATURE},\"{cond}\",day\n",
            good.gauge, good.master
        );
        if !sheet.rows.contains(&line) {
            sheet.rows.push_str(&line);
        }
    }
    Ok(())
}

fn number_of(place: &str) -> u8 {
    place.split('/').nth(1).and_then(|number| number.parse().ok()).unwrap_or(1)
}

fn part(sort: &str, place: &str, sheet: &mut Sheet) {
    let letter = char::from(b'A' + number_of(place).saturating_sub(1));
    let mark = format!("{sort}/{letter}");
    sheet.command(&["part", "receive", &mark]);
    if sort == "piston" {
        // Chosen for the bore; it goes in much later.
        sheet.command(&["part", "allot", &mark, place]);
        let gudgeon = format!("gudgeon/{letter}");
        sheet.command(&["part", "receive", &gudgeon]);
        sheet.command(&["part", "allot", &gudgeon, place]);
    } else {
        sheet.command(&["part", "fit", &mark, place, "--way", "mark to the front"]);
    }
}

/// Stage by stage, the crank turned after each; rods by a wrench that is marked in lbf·ft.
fn tighten(definition: &Definition, group: &str, place: &str, sheet: &mut Sheet) {
    let Some(fastener) = definition.fastener(group) else { return };
    if fastener.nip {
        sheet.command(&["tighten", group, place, "--nip", "--lubricant", &fastener.lubricant]);
    }
    let in_pounds = [(1, "21 lbf·ft"), (2, "31 lbf·ft")];
    for (number, stage) in (1u32..).zip(&fastener.stages) {
        let newton_metres = stage.to_string();
        let rods = fastener.place == FeatureKind::RodBolts;
        let set =
            in_pounds.iter().find(|(n, _)| rods && *n == number).map_or(&*newton_metres, |(_, set)| set);
        let wrench = if rods { "W2" } else { "W1" };
        let number = number.to_string();
        let lubricant = &*fastener.lubricant;
        let words = [
            "tighten",
            group,
            place,
            "--stage",
            &number,
            "--set",
            set,
            "--wrench",
            wrench,
            "--lubricant",
            lubricant,
        ];
        sheet.command(&words);
        let turned = if rods { format!("cylinder/{}", number_of(place)) } else { "crank".to_owned() };
        let note = format!("{place} after stage {number}: one full turn, no tight spot");
        sheet.command(&["checked", "turns-free", &turned, "--note", &note]);
    }
}
