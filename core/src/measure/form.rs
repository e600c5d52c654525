//! Form from a few two-point diameters: out-of-round, taper, a bound of cylindricity.
//!
//! Two points cannot see odd lobing at all, and two directions at right angles can miss an
//! ellipse; the axis may bend unseen. So these are what was found, never a proof of form.
//! Source of the definitions: ISO 12181-1:2011, ISO 12180-1:2011 (zones are radial),
//! ISO 14405-1:2016 (a two-point size is local).

use super::agreement::mean;
use super::round::div_half_even;
use crate::quantity::{Length, Unit};

/// One two-point diameter at one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Station {
    /// Which level, counted from the top (or the front).
    pub level: u16,
    /// Which direction, counted from the first.
    pub direction: u16,
    /// Diameter at 20 degC.
    pub diameter: Length,
}

/// Why no form can be had.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FormError {
    /// Too few stations.
    #[error("form needs at least 2 stations, this has {count}; read another level or direction")]
    TooFew {
        /// How many there were.
        count: usize,
    },
    /// One place read twice.
    #[error("level {level}, direction {direction} appears more than once; settle which reading stands first")]
    Repeated {
        /// The level.
        level: u16,
        /// The direction.
        direction: u16,
    },
    /// A diameter of nothing.
    #[error("a diameter of {} is not above 0; read it again", diameter.show(Unit::Millimetre, 4))]
    NotPositive {
        /// The diameter.
        diameter: Length,
    },
}

/// Form of one bore, journal or housing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Form {
    /// Out-of-round at each level read in two directions or more, levels ascending:
    /// `(level, D_max - D_min)`. Diametral: the roundness of a drawing (RONt) is radial,
    /// about half of this for an even lobed shape.
    pub out_of_round: Vec<(u16, Length)>,
    /// Taper in each direction read at two levels or more, directions ascending:
    /// `(direction, D_first level - D_last level)`. Signed: above zero is wider at the top.
    pub taper: Vec<(u16, Length)>,
    /// Mean of the tapers, half to even; none without a taper.
    pub mean_taper: Option<Length>,
    /// Half the range of all diameters, half to even: cylindricity (radial) is at least
    /// this.
    pub cylindricity_at_least: Length,
    /// Smallest diameter.
    pub smallest: Length,
    /// Largest diameter.
    pub largest: Length,
}

impl Form {
    /// From stations in any order; not every level needs every direction.
    ///
    /// Example (mm): top 86.012 and 86.018, middle 86.008 and 86.011, bottom 86.003 and
    /// 86.005 have out-of-round 0.006, 0.003, 0.002, taper 0.009 and 0.013, cylindricity
    /// of at least 0.0075.
    ///
    /// # Errors
    /// [`FormError`] for fewer than two stations, a place read twice, a diameter not above
    /// zero.
    pub fn from_stations(stations: &[Station]) -> Result<Self, FormError> {
        let stations = sorted(stations)?;
        let diameters = stations.iter().map(|s| s.diameter);
        let (Some(smallest), Some(largest)) = (diameters.clone().min(), diameters.max()) else {
            return Err(FormError::TooFew { count: 0 });
        };
        let taper = tapers(&stations);
        let each: Vec<i64> = taper.iter().map(|(_, taper)| taper.pm()).collect();
        let half_range = div_half_even(i128::from(less(largest, smallest).pm()), 2);
        Ok(Self {
            out_of_round: out_of_rounds(&stations),
            mean_taper: mean(&each).map(Length::from_pm),
            taper,
            cylindricity_at_least: Length::from_pm(i64::try_from(half_range).unwrap_or(i64::MAX)),
            smallest,
            largest,
        })
    }

    /// The largest out-of-round of any level; none where no level has two directions.
    #[must_use]
    pub fn worst_out_of_round(&self) -> Option<Length> {
        self.out_of_round.iter().map(|(_, oor)| *oor).max()
    }

    /// The taper farthest from zero, with its sign; the first of two equally far.
    #[must_use]
    pub fn worst_taper(&self) -> Option<Length> {
        let tapers = self.taper.iter().map(|(_, taper)| *taper);
        tapers.rev().max_by_key(|taper| taper.pm().unsigned_abs())
    }
}

/// By level, then direction; positive, and each place once.
fn sorted(stations: &[Station]) -> Result<Vec<Station>, FormError> {
    let mut sorted = stations.to_vec();
    sorted.sort_unstable();
    if sorted.len() < 2 {
        return Err(FormError::TooFew { count: sorted.len() });
    }
    if let Some(bad) = sorted.iter().find(|s| s.diameter <= Length::ZERO) {
        return Err(FormError::NotPositive { diameter: bad.diameter });
    }
    let place = |s: &Station| (s.level, s.direction);
    let twice = sorted.iter().zip(sorted.iter().skip(1)).find(|(a, b)| place(a) == place(b));
    match twice {
        Some((a, _)) => Err(FormError::Repeated { level: a.level, direction: a.direction }),
        None => Ok(sorted),
    }
}

/// Of stations sorted by level.
fn out_of_rounds(stations: &[Station]) -> Vec<(u16, Length)> {
    stations
        .chunk_by(|a, b| a.level == b.level)
        .filter(|level| level.len() >= 2)
        .filter_map(|level| {
            let diameters = level.iter().map(|s| s.diameter);
            let spread = less(diameters.clone().max()?, diameters.min()?);
            Some((level.first()?.level, spread))
        })
        .collect()
}

/// First level less last level, in each direction.
fn tapers(stations: &[Station]) -> Vec<(u16, Length)> {
    let mut by_direction = stations.to_vec();
    by_direction.sort_unstable_by_key(|s| (s.direction, s.level));
    by_direction
        .chunk_by(|a, b| a.direction == b.direction)
        .filter(|levels| levels.len() >= 2)
        .filter_map(|levels| {
            let (first, last) = (levels.first()?, levels.last()?);
            Some((first.direction, less(first.diameter, last.diameter)))
        })
        .collect()
}

/// Of two lengths above zero, whose difference always fits.
fn less(a: Length, b: Length) -> Length {
    Length::from_pm(a.pm() - b.pm())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    fn pm(pm: i64) -> Length {
        Length::from_pm(pm)
    }

    fn at(level: u16, direction: u16, pm: i64) -> Station {
        Station { level, direction, diameter: Length::from_pm(pm) }
    }

    #[test]
    fn a_lone_direction_has_no_out_of_round_and_a_lone_level_no_taper() {
        let column = Form::from_stations(&[at(0, 0, 100), at(3, 0, 107)]).unwrap();
        assert!(column.out_of_round.is_empty());
        assert_eq!(column.worst_out_of_round(), None);
        assert_eq!(column.taper, [(0, pm(-7))]);
        assert_eq!(column.cylindricity_at_least, pm(4));
        let ring = Form::from_stations(&[at(2, 0, 100), at(2, 1, 105)]).unwrap();
        assert_eq!(ring.out_of_round, [(2, pm(5))]);
        assert_eq!(ring.mean_taper, None);
        assert_eq!(ring.worst_taper(), None);
        assert_eq!(ring.cylindricity_at_least, pm(2));
    }

    #[test]
    fn the_sign_of_the_worst_taper_is_kept() {
        let stations = [at(0, 0, 105), at(1, 0, 100), at(0, 1, 100), at(1, 1, 109)];
        let form = Form::from_stations(&stations).unwrap();
        assert_eq!(form.taper, [(0, pm(5)), (1, pm(-9))]);
        assert_eq!(form.worst_taper(), Some(pm(-9)));
        assert_eq!(form.mean_taper, Some(pm(-2)));
    }

    #[test]
    fn what_is_no_set_of_stations_is_refused() {
        let few = Form::from_stations(&[at(0, 0, 100)]).unwrap_err();
        assert_eq!(few, FormError::TooFew { count: 1 });
        assert_eq!(Form::from_stations(&[]).unwrap_err(), FormError::TooFew { count: 0 });
        let twice = Form::from_stations(&[at(1, 2, 100), at(0, 0, 100), at(1, 2, 101)]);
        assert_eq!(twice.unwrap_err(), FormError::Repeated { level: 1, direction: 2 });
        let none = Form::from_stations(&[at(0, 0, 0), at(1, 0, 5)]).unwrap_err();
        assert_eq!(none, FormError::NotPositive { diameter: Length::ZERO });
    }

    proptest! {
        #[test]
        fn no_form_exceeds_the_range_and_order_does_not_matter(
            diameters in prop::collection::vec(1..=i64::MAX, 12), turn in 0usize..12
        ) {
            let stations: Vec<Station> = (0u16..)
                .zip(&diameters)
                .map(|(i, d)| at(i / 3, i % 3, *d))
                .collect();
            let form = Form::from_stations(&stations).unwrap();
            let range = form.largest.pm() - form.smallest.pm();
            prop_assert!(form.worst_out_of_round().unwrap().pm() <= range);
            prop_assert!(form.worst_taper().unwrap().pm().abs() <= range);
            prop_assert!((form.cylindricity_at_least.pm() - range / 2).abs() <= 1);
            let mut turned = stations;
            turned.rotate_left(turn);
            prop_assert_eq!(Form::from_stations(&turned).unwrap(), form);
        }
    }
}
