//! Oversizes side by side: which of them clean up every bore, and what each changes.

use super::bores::{self, Bores};
use super::candidate::{Candidate, Cleans, Common, Figure, figure, typed};
use super::fits::{self, RingGap};
use crate::assess::LimitInForce;
use crate::quantity::{Amount, Unit};
use crate::work::{Given, InRecord, Need, WorkError, Worksheet, find};

/// What a person wants otherwise than by habit; each as typed, as the worksheet `clean-up` takes it.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wish<'w> {
    /// Oversizes on the bore as the definition names it, such as `0.25,0.50mm`.
    pub candidates: Option<&'w str>,
    /// Left for honing, on the diameter.
    pub stock: Option<&'w str>,
    /// What the bores were last bored to, where that is not as the definition names the bore.
    pub made: Option<&'w str>,
    /// `no`: wear counts once, since it is even or the centre is moved.
    pub one_sided: Option<&'w str>,
}

/// Oversizes side by side.
#[derive(Clone, Debug)]
pub struct Oversizes {
    /// The bore as the definition names it.
    pub nominal: Amount,
    /// The bore as it was last bored: wear counts from here.
    pub made: Amount,
    /// Left for honing, on the diameter.
    pub stock: Amount,
    /// How often wear counts.
    pub times: i64,
    /// What was taken by habit: input, text, how well founded.
    pub taken: Vec<String>,
    /// The bores as found.
    pub bores: Bores,
    /// The smallest bore that cleans up all that are known; else why there is none.
    pub needed: Figure,
    /// The candidates, smallest first.
    pub candidates: Vec<Candidate>,
    /// The limits of piston clearance.
    pub clearance: Figure<LimitInForce>,
    /// The gaps of the ring pack.
    pub rings: Vec<RingGap>,
    /// Whether the definition asks for a torque plate.
    pub torque_plate: bool,
}

impl Oversizes {
    /// The smallest candidate that is known to clean up every bore.
    #[must_use]
    pub fn smallest(&self) -> Option<&Candidate> {
        self.candidates.iter().find(|candidate| candidate.cleans == Cleans::Yes)
    }
}

/// Plans an oversize from what stands in a record.
///
/// # Errors
/// Where a wish cannot be read, by the rows of the worksheet `clean-up`: every problem at once, with the
/// names `oversizes`, `stock`, `standard`, `one-sided`.
pub fn oversizes(place: &InRecord, wish: &Wish) -> Result<Oversizes, WorkError> {
    // The definition alone, whichever place is meant.
    let place = InRecord { at: None, of: None, ..*place };
    let sheet = find("clean-up").ok_or_else(|| no("clean-up", "is no worksheet"))?;
    let nominal =
        place.definition.dimension("bore").ok_or_else(|| no("standard", "is not in the definition"))?;
    let nominal = nominal.amount();
    let wishes = Wishes::read(sheet, wish, nominal)?;
    let bores = bores::read(&place, wishes.made, wish.made.is_some());
    let needed = wishes.needed(sheet, &bores);
    let clearance = fits::of_bores(&place, "piston-clearance");
    let common = Common {
        place,
        nominal,
        made: wishes.made,
        bores: &bores,
        needed: &needed,
        times: wishes.times,
        clearance: &clearance,
        bore_limits: &fits::of_bores(&place, "diameter"),
    };
    let candidates = wishes.candidates.iter().filter_map(|oversize| common.candidate(*oversize)).collect();
    Ok(Oversizes {
        nominal,
        made: wishes.made,
        stock: wishes.stock,
        times: wishes.times,
        taken: wishes.taken,
        candidates,
        rings: fits::rings(&place),
        torque_plate: place.definition.layout().torque_plate(),
        needed,
        clearance,
        bores,
    })
}

fn no(input: &str, cause: &str) -> WorkError {
    WorkError::of(input, cause, "")
}

/// The wishes, read.
struct Wishes {
    /// As the sheet takes them, but for the worn bores.
    texts: Vec<String>,
    taken: Vec<String>,
    made: Amount,
    stock: Amount,
    candidates: Vec<Amount>,
    times: i64,
}

impl Wishes {
    /// Read by the rows of the sheet, so that they take and refuse what the sheet does. The bores are
    /// not known yet: one as made stands in for them.
    fn read(sheet: &Worksheet, wish: &Wish, nominal: Amount) -> Result<Self, WorkError> {
        let standard = wish.made.map_or_else(|| typed(nominal), str::to_owned);
        let given = [("oversizes", wish.candidates), ("stock", wish.stock), ("one-sided", wish.one_sided)];
        let mut texts = vec![format!("standard={standard}")];
        texts.extend(given.iter().filter_map(|(name, text)| Some(format!("{name}={}", (*text)?))));
        let stand_in = format!("worn={}", typed(nominal));
        let read = Given::read(sheet, &[&texts[..], &[stand_in]].concat())?;
        let mm = Unit::Millimetre;
        let length =
            |value: f64| Amount::from_f64(value, mm).ok_or_else(|| no("oversizes", "is out of range"));
        let mut candidates: Vec<Amount> =
            read.list("oversizes", mm).into_iter().map(length).collect::<Result<_, _>>()?;
        candidates.sort_by_key(|amount| amount.base());
        candidates.dedup();
        Ok(Self {
            made: length(read.value("standard", mm)?)?,
            stock: length(read.value("stock", mm)?)?,
            times: if read.word("one-sided") == "yes" { 2 } else { 1 },
            taken: given
                .iter()
                .filter(|(_, text)| text.is_none())
                .filter_map(|(name, _)| habit(sheet, name))
                .collect(),
            candidates,
            texts,
        })
    }

    /// The size that cleans up every bore that is known.
    fn needed(&self, sheet: &Worksheet, bores: &Bores) -> Figure {
        if bores.found.is_empty() {
            return Err("no bore is measured".to_owned());
        }
        let worn: Vec<String> = bores.found.iter().map(|bore| typed(bore.largest)).collect();
        let texts = [&self.texts[..], &[format!("worn={}", worn.join(";"))]].concat();
        let worked = sheet.work(&texts).map(|(_, answer)| answer).map_err(|error| error.to_string());
        figure(&worked, "needed", Unit::Millimetre)
    }
}

/// What the sheet takes where nothing is given, and how well founded that is.
fn habit(sheet: &Worksheet, name: &str) -> Option<String> {
    let input = sheet.inputs.iter().find(|input| input.name == name)?;
    match input.need {
        Need::Default(text, standing) => Some(format!("{name}={text} was taken ({})", standing.words())),
        Need::Required | Need::Optional => None,
    }
}
