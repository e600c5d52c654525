//! Who is on what: each person's steps and last entry, and what is begun and given to nobody.

use gudgeon_core::assess::{PersonId, Progress};
use gudgeon_core::crew::Crew;
use gudgeon_core::entry::KeyId;
use gudgeon_core::log::Ix;
use gudgeon_core::roster::Roles;
use serde_json::{Value as Json, json};

use crate::desk::Sight;
use crate::out::{Answer, wrapped};
use crate::way;
use crate::when;
use crate::words;

/// Columns of a narrow screen.
const WIDTH: usize = 80;

/// Adds everybody; of each list no more than `most` steps.
pub(super) fn add(answer: &mut Answer, sight: &Sight, most: usize) {
    let crew = Crew::read(&sight.record, &sight.workshop, &sight.assessment);
    way::part_tightened(sight).iter().for_each(|group| answer.line(group));
    let people: Vec<Mate> = by_name(sight, &crew);
    for mate in &people {
        mate.say(answer, sight, &crew, most);
    }
    let free: Vec<usize> = crew.begun_and_free().collect();
    if !free.is_empty() {
        answer.line("begun, and given to nobody:");
        let lines = free.iter().map(|step| {
            let hands = on_it(sight, crew.hands_on(*step).collect());
            format!("{}: {}; {hands}", id(sight, *step), progress(sight, *step))
        });
        steps(answer, 2, &lines.collect::<Vec<_>>(), most);
    }
    let rest = crew.waiting_for_hands();
    if rest > 0 {
        let (are, is) = ("steps are not begun and given to nobody", "step is not begun and given to nobody");
        answer.line(words::count(rest, is, are));
    }
    answer.say("Times are by the devices' clocks: a hint, which decides nothing.");
    answer.put("people", people.iter().map(|mate| mate.json(sight, &crew)).collect::<Json>());
    answer.put(
        "begun_given_to_nobody",
        free.iter().map(|step| step_json(sight, &crew, *step)).collect::<Json>(),
    );
    answer.put("not_begun_given_to_nobody", rest);
}

/// `; Ann is on it` and the like: who works on a step that is given to somebody else; else empty.
pub(super) fn others(sight: &Sight, crew: &Crew, step: usize) -> String {
    let others = crew.others_on(step);
    if others.is_empty() {
        return String::new();
    }
    let too = if crew.is_begun_by_its_own(step) { " too" } else { "" };
    format!("; {}{too}", on_it(sight, others))
}

/// `Ann is on it`.
fn on_it(sight: &Sight, people: Vec<PersonId>) -> String {
    let are = if people.len() == 1 { "is" } else { "are" };
    format!("{} {are} on it", names(sight, people))
}

/// Somebody who enters here, or once did.
struct Mate {
    person: PersonId,
    name: String,
    roles: Roles,
    last: Option<(Ix, Option<usize>)>,
    given: Vec<usize>,
}

/// Everybody who may enter something, is given a step, or has entered something.
fn by_name(sight: &Sight, crew: &Crew) -> Vec<Mate> {
    let mate = |(person, name): (PersonId, &str)| Mate {
        person,
        name: name.to_owned(),
        roles: roles(sight, person),
        last: crew.last_of(person),
        given: crew.given_to(person).collect(),
    };
    let mut people: Vec<Mate> = sight.roster().people().map(mate).collect();
    people.retain(|mate| mate.roles.may_enter() || mate.last.is_some() || !mate.given.is_empty());
    people.sort_by_key(|mate| (mate.name.to_lowercase(), mate.person));
    people
}

/// What the keys of a person may do, taken together.
fn roles(sight: &Sight, person: PersonId) -> Roles {
    let roster = sight.roster();
    let of_person = |key: &KeyId| roster.person_of(*key) == Some(person);
    let held: Vec<Roles> = roster.keys().filter(of_person).map(|key| roster.roles_of(key)).collect();
    let any = |has: fn(&Roles) -> bool| held.iter().any(has);
    Roles { member: any(|r| r.member), lead: any(|r| r.lead), viewer: any(|r| r.viewer) }
}

impl Mate {
    fn say(&self, answer: &mut Answer, sight: &Sight, crew: &Crew, most: usize) {
        let roles = words::roles(self.roles);
        answer.line(format!("{}, {}", self.name, if roles.is_empty() { "no role now" } else { &roles }));
        let last = match self.last {
            Some((ix, step)) => last(sight, ix, step),
            None => "nothing entered yet".to_owned(),
        };
        hang(answer, 2, &format!("last: {last}"));
        let signed = |step: &usize| sight.assessment.steps()[*step].progress == Progress::Signed;
        let (done, open): (Vec<usize>, Vec<usize>) = self.given.iter().copied().partition(signed);
        let given = match (open.len(), done.len()) {
            (0, 0) => "nothing".to_owned(),
            (0, done) => format!("{}, all signed", words::count(done, "step", "steps")),
            (open, 0) => words::count(open, "step", "steps"),
            (open, done) => format!("{} and {done} signed", words::count(open, "step", "steps")),
        };
        answer.line(format!("  given: {given}"));
        // What another signed is told; nobody looks for it any more.
        let by_another = done.into_iter().filter(|step| !crew.is_begun_by_its_own(*step));
        let told = open.into_iter().chain(by_another);
        let line = |step: usize| {
            format!("{}: {}{}", id(sight, step), progress(sight, step), others(sight, crew, step))
        };
        steps(answer, 4, &told.map(line).collect::<Vec<_>>(), most);
    }

    fn json(&self, sight: &Sight, crew: &Crew) -> Json {
        let last = self.last.map(|(ix, step)| {
            let statement = sight.log().at(ix);
            json!({
                "entry": statement.id.to_hex(), "says": words::what(sight, statement),
                "step": step.map(|step| id(sight, step)), "device_time": when::moment(statement.device_time),
            })
        });
        json!({
            "person": self.person.to_hex(), "name": self.name, "roles": words::roles(self.roles), "last": last,
            "given": self.given.iter().map(|step| step_json(sight, crew, *step)).collect::<Json>(),
        })
    }
}

/// What somebody last entered, for which step, and when by the device's clock.
fn last(sight: &Sight, ix: Ix, step: Option<usize>) -> String {
    let statement = sight.log().at(ix);
    let on = step.map_or_else(String::new, |step| format!(", for {}", id(sight, step)));
    format!("{}{on}, {}", words::what(sight, statement), when::moment(statement.device_time))
}

/// Lines of steps, the first of them where they are many.
fn steps(answer: &mut Answer, indent: usize, lines: &[String], most: usize) {
    for line in lines.iter().take(most) {
        hang(answer, indent, line);
    }
    if lines.len() > most {
        answer.line(format!("{:indent$}and {} more (--all)", "", lines.len() - most));
    }
}

/// A line that a narrow screen holds; what does not fit hangs below it.
fn hang(answer: &mut Answer, indent: usize, text: &str) {
    let mut start = indent;
    for part in wrapped(text, WIDTH - indent - 2) {
        answer.line(format!("{:start$}{part}", ""));
        start = indent + 2;
    }
}

fn step_json(sight: &Sight, crew: &Crew, step: usize) -> Json {
    let mut hands: Vec<String> = crew.hands_on(step).map(|person| sight.person(person)).collect();
    hands.sort_unstable();
    json!({ "id": id(sight, step), "progress": progress(sight, step), "worked_on_by": hands })
}

fn id(sight: &Sight, step: usize) -> &str {
    &sight.assessment.steps()[step].id
}

fn progress(sight: &Sight, step: usize) -> &'static str {
    sight.assessment.steps()[step].progress.word()
}

/// `Ann, Ben and Cleo`, by name.
fn names(sight: &Sight, people: Vec<PersonId>) -> String {
    let mut names: Vec<String> = people.into_iter().map(|person| sight.person(person)).collect();
    names.sort_unstable();
    match &names[..] {
        [most @ .., last] if !most.is_empty() => format!("{} and {last}", most.join(", ")),
        _ => names.join(", "),
    }
}
