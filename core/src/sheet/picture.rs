//! A picture as plain marks, so that the printed record and a screen draw the same one.

use super::page::Page;
use super::state::State;

/// Hundredths of a drawing unit: drawings are computed in whole numbers.
pub type Px = i64;

/// A number in drawing units: `12.50` for 1250 hundredths.
#[must_use]
pub fn in_units(hundredths: Px) -> String {
    let sign = if hundredths < 0 { "-" } else { "" };
    let (whole, part) = (hundredths.unsigned_abs() / 100, hundredths.unsigned_abs() % 100);
    if part == 0 { format!("{sign}{whole}") } else { format!("{sign}{whole}.{part:02}") }
}

/// One mark, with the name of its style.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// Name of its style.
    pub class: &'static str,
    /// What it is.
    pub form: Form,
}

/// What a mark is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Form {
    /// A rectangle: left, top, width, height.
    Box {
        /// Left.
        x: Px,
        /// Top.
        y: Px,
        /// Width.
        wide: Px,
        /// Height.
        high: Px,
    },
    /// A straight line between two points.
    Line((Px, Px), (Px, Px)),
    /// A filled outline by its corners.
    Polygon(Vec<(Px, Px)>),
    /// A text at a point on its foot line.
    Label((Px, Px), String),
}

/// A picture of one value: its ground, and the value itself, drawn in its state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Width and height.
    pub size: (Px, Px),
    /// A sentence for those who cannot see it.
    pub says: String,
    /// What it is seen against.
    pub ground: Vec<Mark>,
    /// The value.
    pub value: Vec<Mark>,
    /// How the value is drawn.
    pub state: State,
}

/// Marks under construction.
#[derive(Debug, Default)]
pub(super) struct Marks(Vec<Mark>);

impl Marks {
    fn push(&mut self, class: &'static str, form: Form) -> &mut Self {
        self.0.push(Mark { class, form });
        self
    }

    pub(super) fn oblong(&mut self, class: &'static str, at: (Px, Px), size: (Px, Px)) -> &mut Self {
        self.push(class, Form::Box { x: at.0, y: at.1, wide: size.0, high: size.1 })
    }

    pub(super) fn line(&mut self, class: &'static str, from: (Px, Px), to: (Px, Px)) -> &mut Self {
        self.push(class, Form::Line(from, to))
    }

    pub(super) fn polygon(&mut self, class: &'static str, corners: &[(Px, Px)]) -> &mut Self {
        self.push(class, Form::Polygon(corners.to_vec()))
    }

    pub(super) fn label(&mut self, class: &'static str, at: (Px, Px), text: &str) -> &mut Self {
        self.push(class, Form::Label(at, text.to_owned()))
    }

    pub(super) fn done(self) -> Vec<Mark> {
        self.0
    }
}

/// Writes a picture as markup.
pub(super) fn draw(page: &mut Page, class: &'static str, picture: &Picture) {
    page.drawing(class, picture.size, &picture.says);
    marks(page, &picture.ground);
    page.raw("<g class=\"").raw(picture.state.class()).raw("\">");
    marks(page, &picture.value);
    page.raw("</g></svg>");
}

fn marks(page: &mut Page, marks: &[Mark]) {
    for Mark { class, form } in marks {
        match form {
            Form::Box { x, y, wide, high } => {
                let measures = [("x", *x), ("y", *y), ("width", *wide), ("height", *high)];
                page.shape("rect", class, &measures);
            }
            Form::Line(from, to) => {
                page.line(class, *from, *to);
            }
            Form::Polygon(corners) => {
                page.polygon(class, corners);
            }
            Form::Label(at, text) => {
                page.label(class, *at, text);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn drawing_units_are_written_from_hundredths() {
        for (hundredths, text) in [(0, "0"), (1250, "12.50"), (-305, "-3.05"), (100, "1")] {
            assert_eq!(in_units(hundredths), text);
        }
    }
}
