//! Stations: where on a feature a reading is taken.
//!
//! A station is written `level/direction`, or only the one there is: `top/thrust`,
//! `vertical`, `bolt-1`; empty where a characteristic has a single value.

/// A list of words, some of which the definition counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Words {
    /// These words.
    Fixed(&'static [&'static str]),
    /// `bolt-1` and on, as many as the fastener has at each place.
    Bolts,
    /// `main-1` and on.
    Mains,
    /// `mains`, then `cylinder-1` and on: the crank after the mains and after each cylinder.
    Assembly,
}

/// The stations of a characteristic.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stations {
    /// Levels that must be read.
    pub levels: Words,
    /// Directions that must be read at each level.
    pub directions: Words,
    /// Levels that may be read besides.
    pub more_levels: &'static [&'static str],
    /// Directions that may be read besides.
    pub more_directions: &'static [&'static str],
    /// Whether any other station may be written too.
    pub free: bool,
}

const NONE: Words = Words::Fixed(&[]);

impl Stations {
    /// A single value, no station.
    pub const SINGLE: Self = Self::named(&[]);

    /// These stations, all needed.
    #[must_use]
    pub const fn named(names: &'static [&'static str]) -> Self {
        Self::counted(Words::Fixed(names))
    }

    /// Stations that the definition counts.
    #[must_use]
    pub const fn counted(levels: Words) -> Self {
        Self { levels, directions: NONE, more_levels: &[], more_directions: &[], free: false }
    }

    /// Levels by directions, all needed.
    #[must_use]
    pub const fn grid(levels: &'static [&'static str], directions: &'static [&'static str]) -> Self {
        Self { directions: Words::Fixed(directions), ..Self::named(levels) }
    }

    /// Only directions.
    #[must_use]
    pub const fn around(directions: &'static [&'static str]) -> Self {
        Self { directions: Words::Fixed(directions), ..Self::SINGLE }
    }

    /// Free words; nothing needed but one value.
    pub const FREE: Self = Self { free: true, ..Self::SINGLE };

    /// Splits a station into level and direction; either is empty where there is none.
    #[must_use]
    pub fn split<'s>(&self, station: &'s str) -> (&'s str, &'s str) {
        match station.split_once('/') {
            Some(both) => both,
            None if self.levels == NONE => ("", station),
            None => (station, ""),
        }
    }
}

/// Counts that the definition gives to [`Words`].
#[derive(Clone, Copy, Debug)]
pub(super) struct Counts {
    pub(super) bolts: u8,
    pub(super) mains: u8,
    pub(super) cylinders: u8,
}

impl Words {
    pub(super) fn list(self, counts: Counts) -> Vec<String> {
        let numbered = |word: &str, count: u8| -> Vec<String> {
            (1..=count).map(|number| format!("{word}-{number}")).collect()
        };
        match self {
            Self::Fixed(words) => words.iter().map(|&word| word.to_owned()).collect(),
            Self::Bolts => numbered("bolt", counts.bolts),
            Self::Mains => numbered("main", counts.mains),
            Self::Assembly => {
                let mut words = vec!["mains".to_owned()];
                words.extend(numbered("cylinder", counts.cylinders));
                words
            }
        }
    }
}

impl Stations {
    /// Every station that must be read; one empty text for a single value.
    pub(super) fn needed(&self, counts: Counts) -> Vec<String> {
        cross(&self.levels.list(counts), &self.directions.list(counts))
    }

    /// Every station that may be written, unless any may.
    pub(super) fn allowed(&self, counts: Counts) -> Vec<String> {
        let also = |mut words: Vec<String>, more: &[&str]| {
            words.extend(more.iter().map(|&word| word.to_owned()));
            words
        };
        let levels = also(self.levels.list(counts), self.more_levels);
        let directions = also(self.directions.list(counts), self.more_directions);
        cross(&levels, &directions)
    }
}

fn cross(levels: &[String], directions: &[String]) -> Vec<String> {
    match (levels.is_empty(), directions.is_empty()) {
        (true, true) => vec![String::new()],
        (false, true) => levels.to_vec(),
        (true, false) => directions.to_vec(),
        (false, false) => levels
            .iter()
            .flat_map(|level| directions.iter().map(move |way| format!("{level}/{way}")))
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const COUNTS: Counts = Counts { bolts: 2, mains: 3, cylinders: 2 };

    #[test]
    fn a_grid_needs_every_direction_at_every_level_and_allows_more() {
        let stations =
            Stations { more_levels: &["unworn"], ..Stations::grid(&["top", "bottom"], &["thrust", "axial"]) };
        let needed = stations.needed(COUNTS);
        assert_eq!(needed, ["top/thrust", "top/axial", "bottom/thrust", "bottom/axial"]);
        let allowed = stations.allowed(COUNTS);
        assert!(allowed.contains(&"unworn/axial".to_owned()));
        assert!(!allowed.contains(&"top".to_owned()));
        assert_eq!(stations.split("top/axial"), ("top", "axial"));
    }

    #[test]
    fn counted_words_follow_the_definition() {
        assert_eq!(Stations::counted(Words::Bolts).needed(COUNTS), ["bolt-1", "bolt-2"]);
        let turning = Stations::counted(Words::Assembly).needed(COUNTS);
        assert_eq!(turning, ["mains", "cylinder-1", "cylinder-2"]);
    }

    #[test]
    fn a_single_value_has_the_empty_station_only() {
        assert_eq!(Stations::SINGLE.needed(COUNTS), [""]);
        assert_eq!(Stations::SINGLE.allowed(COUNTS), [""]);
        assert_eq!(Stations::around(&["vertical"]).split("vertical"), ("", "vertical"));
    }
}
