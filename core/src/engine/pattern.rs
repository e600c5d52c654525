//! Patterns of feature paths, such as `main/*` or `rod/3/bolts`.

use super::feature::Feature;

/// A pattern: segments that are given or `*`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FeaturePattern {
    segments: Vec<Segment>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Segment {
    Any,
    OneOf(Vec<Box<str>>),
}

impl FeaturePattern {
    /// From text, with no variable but `*`.
    pub(super) fn new(text: &str) -> Self {
        Self::filled(text, |_| None)
    }

    /// From text whose `{variables}` are filled; one that is not known stands for any.
    pub(super) fn filled(text: &str, fill: impl Fn(&str) -> Option<Vec<String>>) -> Self {
        let segment = |part: &str| match variable(part) {
            Some(name) => fill(name).map_or(Segment::Any, |values| {
                Segment::OneOf(values.into_iter().map(String::into_boxed_str).collect())
            }),
            None if part == "*" => Segment::Any,
            None => Segment::OneOf(vec![part.into()]),
        };
        Self { segments: text.split('/').map(segment).collect() }
    }

    /// Whether a feature is meant.
    #[must_use]
    pub fn matches(&self, feature: &Feature) -> bool {
        self.matches_path(feature.path())
    }

    /// Whether a path is meant.
    #[must_use]
    pub fn matches_path(&self, path: &str) -> bool {
        let mut parts = path.split('/');
        let fits = |segment: &Segment| {
            parts.next().is_some_and(|part| match segment {
                Segment::Any => true,
                Segment::OneOf(values) => values.iter().any(|value| &**value == part),
            })
        };
        self.segments.iter().all(fits) && parts.next().is_none()
    }

    /// How many segments stand open: fewer is more particular.
    #[must_use]
    pub fn open(&self) -> usize {
        self.segments.iter().filter(|segment| **segment == Segment::Any).count()
    }

    /// Whether some path of a row's shape, such as `piston/{mark}/skirt`, may be meant.
    pub(super) fn may_match_shape(&self, shape: &str) -> bool {
        let parts: Vec<&str> = shape.split('/').collect();
        let fits = |(segment, part): (&Segment, &&str)| match segment {
            Segment::Any => variable(part).is_some(),
            Segment::OneOf(values) => {
                variable(part).is_some() || values.iter().any(|value| &**value == *part)
            }
        };
        parts.len() == self.segments.len() && self.segments.iter().zip(&parts).all(fits)
    }
}

/// The name inside `{...}`.
pub(super) fn variable(part: &str) -> Option<&str> {
    part.strip_prefix('{')?.strip_suffix('}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stars_and_filled_variables_match_whole_segments() {
        let all = FeaturePattern::new("rod/*/bolts");
        assert!(all.matches_path("rod/12/bolts"));
        assert!(!all.matches_path("rod/12"));
        let some = FeaturePattern::filled("bore/{n}", |_| Some(vec!["1".into(), "3".into()]));
        assert!(some.matches_path("bore/3"));
        assert!(!some.matches_path("bore/2"));
        assert_eq!((all.open(), some.open()), (1, 0));
    }

    #[test]
    fn a_star_stands_for_a_variable_never_for_a_fixed_word() {
        assert!(FeaturePattern::new("piston/*/skirt").may_match_shape("piston/{mark}/skirt"));
        assert!(!FeaturePattern::new("rod/3/*").may_match_shape("rod/{n}/bolts"));
    }
}
