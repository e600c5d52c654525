//! The engine as a line drawing for a thumb: where each shape lies, and what it leads to.
//!
//! What there is to draw, and in which state, core says ([`Drawing`]); here it is laid out so that no two
//! targets lie nearer than [`TARGET`]. Units are pixels at a letter size of 16. Not to scale.

use gudgeon_core::sheet::{Drawing, PinDrawing, Shape, State, capital, cosine_e3, place};

/// Least width and height of a target.
pub const TARGET: i32 = 48;

/// Room there is on a narrow phone; what needs more is scrolled.
const ROOM: i32 = 350;

/// What is outlined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outline {
    /// Left, top, width, height.
    Box(i32, i32, i32, i32),
    /// Centre and radius.
    Ring(i32, i32, i32),
}

impl Outline {
    /// Its middle.
    #[must_use]
    pub const fn middle(self) -> (i32, i32) {
        match self {
            Self::Box(x, y, wide, high) => (x + wide / 2, y + high / 2),
            Self::Ring(x, y, _) => (x, y),
        }
    }
}

/// A shape that leads to a feature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spot {
    /// Path of the feature.
    pub path: String,
    /// Its spoken name, such as `Bore 2, outside`.
    pub name: String,
    /// How it is drawn.
    pub state: State,
    /// What is outlined.
    pub outline: Outline,
    /// Radius of the target around its middle.
    pub reach: i32,
    /// Its label, and where.
    pub label: (String, (i32, i32)),
    /// Further lines beneath it.
    pub captions: Vec<(String, (i32, i32))>,
}

/// One figure of the drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// What is seen, from where.
    pub title: String,
    /// A word at its end, such as where the front is.
    pub aside: &'static str,
    /// Width and height.
    pub size: (i32, i32),
    /// The part that carries the shapes: outlines of boxes.
    pub body: Vec<(i32, i32, i32, i32)>,
    /// Centre lines.
    pub centres: Vec<((i32, i32), (i32, i32))>,
    /// Plain outlines, by their corners.
    pub plain: Vec<Vec<(i32, i32)>>,
    /// The shapes.
    pub spots: Vec<Spot>,
}

impl Figure {
    fn new(title: String, aside: &'static str, size: (i32, i32)) -> Self {
        Self {
            title,
            aside,
            size,
            body: Vec::new(),
            centres: Vec::new(),
            plain: Vec::new(),
            spots: Vec::new(),
        }
    }
}

/// The figures of an engine: each deck from above, the crank from the side, the rods.
#[must_use]
pub fn figures(drawing: &Drawing) -> Vec<Figure> {
    let several = drawing.banks.len() > 1;
    let deck = |bank: &gudgeon_core::sheet::BankDrawing| {
        let name = if several { format!(", {} bank", bank.name) } else { String::new() };
        deck(format!("Deck, from above{name}"), &bank.bores)
    };
    let mut figures: Vec<Figure> = drawing.banks.iter().map(deck).collect();
    figures.push(crank(drawing));
    figures.push(rods(&drawing.rods));
    figures
}

/// How far apart shapes in a row stand.
fn pitch(count: usize, most: i32) -> i32 {
    let count = whole(count).max(1);
    ((ROOM - 8) / count).clamp(TARGET, most)
}

fn whole(count: usize) -> i32 {
    i32::try_from(count).unwrap_or(0)
}

fn spot(shape: &Shape, path: String, outline: Outline, reach: i32, label_at: (i32, i32)) -> Spot {
    Spot {
        name: format!("{}, {}", place(&shape.path), shape.state.word()),
        path,
        state: shape.state,
        outline,
        reach,
        label: (shape.label.clone(), label_at),
        captions: Vec::new(),
    }
}

fn deck(title: String, bores: &[Shape]) -> Figure {
    let pitch = pitch(bores.len(), 96);
    let wide = whole(bores.len()) * pitch;
    let radius = (pitch / 2 - 7).min(31);
    let (middle, foot) = (radius + 9, 2 * radius + 16);
    let mut figure = Figure::new(title, "front at the left", (wide + 8, foot + 34));
    figure.body.push((4, 2, wide, foot - 2));
    figure.centres.push(((0, middle), (wide + 8, middle)));
    for (at, bore) in (0..).zip(bores) {
        let x = 4 + pitch / 2 + at * pitch;
        figure.centres.push(((x, 4), (x, foot - 2)));
        let outline = Outline::Ring(x, middle, radius);
        let mut spot = spot(bore, bore.path.clone(), outline, radius.max(TARGET / 2), (x, middle + 6));
        spot.captions = captions(&bore.caption, x, foot + 14);
        if !bore.caption.is_empty() && bore.state != State::NotRead {
            spot.name = format!("{}, {}", spot.name, bore.caption.replace('–', " to "));
        }
        figure.spots.push(spot);
    }
    figure
}

/// What stands beneath a bore: its span on two lines where it has two ends.
fn captions(text: &str, x: i32, y: i32) -> Vec<(String, (i32, i32))> {
    match text.split_once('–').or_else(|| text.split_once(" read").map(|(some, _)| (some, "read"))) {
        Some((first, second)) => vec![(first.to_owned(), (x, y)), (second.to_owned(), (x, y + 15))],
        None => vec![(text.to_owned(), (x, y))],
    }
}

/// Along the crank: width of a main, a web and a pin; the room between a web and what it is beside.
const MAIN: i32 = 34;
const WEB: i32 = 7;
const PIN: i32 = 28;
const GAP: i32 = 3;
/// From the crank's axis to the middle of a pin at its highest.
const THROW: i32 = 30;
/// Where the axis lies.
const AXIS: i32 = 62;

fn crank(drawing: &Drawing) -> Figure {
    let side = if drawing.crank_from_above { "from above" } else { "from the side" };
    let mut figure = Figure::new(format!("Crank, {side}"), "M main, P pin", (0, 2 * AXIS + 4));
    let mut x = 4;
    for (at, main) in drawing.mains.iter().enumerate() {
        let outline = Outline::Box(x, AXIS - 16, MAIN, 32);
        let label_at = (x + MAIN / 2, AXIS + 5);
        figure.spots.push(spot(main, main.path.clone(), outline, TARGET / 2, label_at));
        x += MAIN + GAP;
        for pin in drawing.pins.iter().filter(|pin| pin.after_main == at + 1) {
            x = throw(&mut figure, pin, x);
        }
        // Where nothing lies between, two mains still stand a target apart.
        x += (TARGET - MAIN - GAP) * i32::from(drawing.pins.iter().all(|pin| pin.after_main != at + 1));
    }
    figure.size.0 = x + 1;
    figure.centres.push(((0, AXIS), (figure.size.0, AXIS)));
    figure
}

/// Two webs and the pin between them; returns where the next thing begins.
fn throw(figure: &mut Figure, pin: &PinDrawing, x: i32) -> i32 {
    let rise = -THROW * i32::try_from(cosine_e3(pin.degrees)).unwrap_or(0) / 1000;
    // The smaller the rise, the wider the pin, so that its target stays clear of its neighbours'.
    let beside = apart(rise) - MAIN / 2 - GAP - WEB;
    let wide = (2 * beside).max(PIN);
    let (top, foot) = ((AXIS - 16).min(AXIS + rise - 15), (AXIS + 16).max(AXIS + rise + 15));
    for web in [x, x + WEB + wide] {
        figure.plain.push(vec![(web, top), (web + WEB, top), (web + WEB, foot), (web, foot)]);
    }
    let outline = Outline::Box(x + WEB, AXIS + rise - 12, wide, 24);
    let label_at = (x + WEB + wide / 2, if rise <= 0 { AXIS + rise - 17 } else { AXIS + rise + 27 });
    figure.spots.push(spot(&pin.shape, pin.shape.path.clone(), outline, TARGET / 2, label_at));
    x + 2 * WEB + wide + GAP
}

/// How far beside its neighbour on the axis a shape must lie that rises so far.
fn apart(rise: i32) -> i32 {
    let needed = TARGET * TARGET - rise * rise;
    (0..=TARGET).find(|along| along * along >= needed).unwrap_or(TARGET)
}

fn rods(rods: &[Shape]) -> Figure {
    let pitch = pitch(rods.len(), 96);
    let wide = whole(rods.len()) * pitch;
    let mut figure = Figure::new("Rods".to_owned(), "big ends, bolts, bushes", (wide + 8, 94));
    for (at, rod) in (0..).zip(rods) {
        let x = 4 + pitch / 2 + at * pitch;
        figure.centres.push(((x, 0), (x, 92)));
        figure.plain.push(vec![(x - 5, 24), (x + 5, 24), (x + 9, 48), (x - 9, 48)]);
        figure.plain.push(eight(x, 14, 9));
        let outline = Outline::Ring(x, 67, 20);
        let mut spot = spot(rod, format!("{}/big-end", rod.path), outline, TARGET / 2, (x, 72));
        spot.name = capital(&format!("rod {}, {}", rod.label.trim_start_matches('R'), rod.state.word()));
        figure.spots.push(spot);
    }
    figure
}

/// A small ring as an octagon: 0.7 of the radius at 45 degrees.
fn eight(x: i32, y: i32, radius: i32) -> Vec<(i32, i32)> {
    let near = radius * 7 / 10;
    vec![
        (x, y - radius),
        (x + near, y - near),
        (x + radius, y),
        (x + near, y + near),
        (x, y + radius),
        (x - near, y + near),
        (x - radius, y),
        (x - near, y - near),
    ]
}

#[cfg(test)]
mod tests {
    use gudgeon_core::sheet::BankDrawing;

    use super::*;

    fn shape(label: &str, path: &str) -> Shape {
        let caption = "80.495–80.520".to_owned();
        Shape { label: label.to_owned(), path: path.to_owned(), state: State::Proven, caption }
    }

    /// An invented engine: cylinders in one bank, a main each side of every pin.
    fn engine(cylinders: usize, degrees: &[i64]) -> Drawing {
        let bore = |n: usize| shape(&n.to_string(), &format!("bore/{n}"));
        let pin = |n: usize| PinDrawing {
            shape: shape(&format!("P{n}"), &format!("pin/{n}")),
            degrees: degrees[n % degrees.len()],
            after_main: n,
        };
        Drawing {
            banks: vec![BankDrawing { name: "a".to_owned(), bores: (1..=cylinders).map(bore).collect() }],
            mains: (1..=cylinders + 1).map(|n| shape(&format!("M{n}"), &format!("main/{n}"))).collect(),
            pins: (1..=cylinders).map(pin).collect(),
            rods: (1..=cylinders).map(|n| shape(&format!("R{n}"), &format!("rod/{n}"))).collect(),
            crank_from_above: false,
        }
    }

    #[test]
    fn no_two_targets_overlap_whatever_the_layout() {
        for (cylinders, degrees) in [
            (1, vec![0]),
            (4, vec![0, 180, 180, 0]),
            (6, vec![0, 120, 240]),
            (8, vec![0, 90]),
            (12, vec![60]),
        ] {
            for figure in figures(&engine(cylinders, &degrees)) {
                for (at, one) in figure.spots.iter().enumerate() {
                    for other in &figure.spots[at + 1..] {
                        let ((ax, ay), (bx, by)) = (one.outline.middle(), other.outline.middle());
                        let apart = (ax - bx).pow(2) + (ay - by).pow(2);
                        let reach = one.reach.min(TARGET / 2) + other.reach.min(TARGET / 2);
                        assert!(apart >= reach.pow(2), "{cylinders}: {} and {}", one.name, other.name);
                    }
                }
            }
        }
    }

    #[test]
    fn every_target_is_large_enough_and_on_its_sheet() {
        for figure in figures(&engine(6, &[0, 120, 240])) {
            for spot in &figure.spots {
                let (x, y) = spot.outline.middle();
                assert!(2 * spot.reach >= TARGET, "{}", spot.name);
                assert!(
                    (0..=figure.size.0).contains(&x) && (0..=figure.size.1).contains(&y),
                    "{}",
                    spot.name
                );
                assert!(figure.size.1 >= y + 20, "{}", spot.name);
            }
        }
    }

    #[test]
    fn a_four_in_line_needs_no_scrolling() {
        for figure in figures(&engine(4, &[0, 180, 180, 0])) {
            assert!(figure.size.0 <= 390, "{}: {}", figure.title, figure.size.0);
        }
    }

    #[test]
    fn a_shape_says_its_name_and_state() {
        let figures = figures(&engine(4, &[0, 180]));
        assert_eq!(figures[0].spots[1].name, "Bore 2, proven, 80.495 to 80.520");
        assert_eq!(figures[2].spots[3].name, "Rod 4, proven");
        assert_eq!(figures[2].spots[3].path, "rod/4/big-end");
    }
}
