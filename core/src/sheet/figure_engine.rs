//! The engine as a line drawing from its definition: the deck from above, the crank from the
//! side, the rods. Each shape is drawn in its state. Not to scale.

use super::model::{Drawing, PinDrawing, Shape};
use super::page::{Page, Px};
use super::state::State;

const PITCH: Px = 92_00;
const EDGE: Px = 12_00;
const RADIUS: Px = 31_00;
/// Room from the crank's axis to the middle of a pin at its highest.
const THROW: Px = 32_00;

/// Draws the engine and the key to the states.
pub(super) fn draw(page: &mut Page, drawing: &Drawing) {
    page.raw("<div class=\"engine\">");
    for bank in &drawing.banks {
        let name = if drawing.banks.len() > 1 { format!(", {} bank", bank.name) } else { String::new() };
        page.raw("<figure><figcaption>Deck, from above")
            .text(name)
            .raw("<span>front at the left</span></figcaption>");
        deck(page, &bank.bores);
        page.raw("</figure>");
    }
    let side = if drawing.crank_from_above { "from above" } else { "from the side" };
    page.raw("<figure><figcaption>Crank, ")
        .text(side)
        .raw("<span>main journals and pins</span></figcaption>");
    crank(page, drawing);
    page.raw("</figure><figure><figcaption>Rods<span>big ends, bolts, bushes</span></figcaption>");
    rods(page, &drawing.rods);
    page.raw("</figure></div>");
    key(page);
}

/// The key: each state drawn, with its word.
fn key(page: &mut Page) {
    page.raw("<ul class=\"key\">");
    for state in State::ALL.iter().rev() {
        page.raw("<li>").drawing("swatch", (30_00, 20_00), "");
        outlined(page, *state, &Outline::Box { x: 4_00, y: 3_00, wide: 22_00, high: 14_00 });
        page.raw("</svg>").text(state.word()).raw("</li>");
    }
    page.raw("</ul>");
}

/// What is outlined.
enum Outline {
    Box { x: Px, y: Px, wide: Px, high: Px },
    Ring { x: Px, y: Px, radius: Px },
}

/// Draws an outline in a state: its line, its hatching, its second line or its diagonal.
fn outlined(page: &mut Page, state: State, outline: &Outline) {
    page.raw("<g class=\"shape ").raw(state.class()).raw("\">");
    plain(page, "line", outline, 0);
    match state {
        State::InHand => plain(page, "line2", outline, 4_00),
        State::Disputed => match *outline {
            Outline::Box { x, y, wide, high } => {
                page.line("line", (x, y + high), (x + wide, y));
            }
            Outline::Ring { x, y, radius } => {
                // 0.7071 of the radius: the diagonal at 45 degrees.
                let reach = radius * 707 / 1000;
                page.line("line", (x - reach, y + reach), (x + reach, y - reach));
            }
        },
        State::NotRead | State::Read | State::Proven | State::NotProven | State::Stale | State::Outside => {}
    }
    page.raw("</g>");
}

fn plain(page: &mut Page, class: &'static str, outline: &Outline, inset: Px) {
    match *outline {
        Outline::Box { x, y, wide, high } => {
            let measures = [
                ("x", x + inset),
                ("y", y + inset),
                ("width", wide - 2 * inset),
                ("height", high - 2 * inset),
            ];
            page.shape("rect", class, &measures);
        }
        Outline::Ring { x, y, radius } => {
            page.shape("circle", class, &[("cx", x), ("cy", y), ("r", radius - inset)]);
        }
    }
}

fn counted(number: usize) -> Px {
    Px::try_from(number).unwrap_or(0)
}

fn spoken(shapes: &[Shape]) -> String {
    let said: Vec<String> = shapes.iter().map(|s| format!("{} {}", s.label, s.state.word())).collect();
    said.join(", ")
}

fn deck(page: &mut Page, bores: &[Shape]) {
    let wide = counted(bores.len()) * PITCH;
    let size = (wide + 2 * EDGE, 124_00);
    page.drawing("deck", size, &spoken(bores));
    page.shape("rect", "sheetline", &[("x", EDGE), ("y", 2_00), ("width", wide), ("height", 88_00)]);
    page.line("centre", (2_00, 46_00), (wide + 2 * EDGE - 2_00, 46_00));
    for (at, bore) in bores.iter().enumerate() {
        let x = EDGE + PITCH / 2 + counted(at) * PITCH;
        page.line("centre", (x, 6_00), (x, 86_00));
        outlined(page, bore.state, &Outline::Ring { x, y: 46_00, radius: RADIUS });
        page.label("big", (x, 52_50), &bore.label);
        under(page, x, bore);
    }
    page.raw("</svg>");
}

/// What stands beneath a bore: its span on two lines where it has two ends.
fn under(page: &mut Page, x: Px, bore: &Shape) {
    match bore.caption.split_once('–') {
        Some((low, high)) => {
            page.label("tick", (x, 106_00), low).label("tick", (x, 120_00), high);
        }
        None => {
            page.label("tick", (x, 108_00), &bore.caption);
        }
    }
}

/// Widths along the crank.
const MAIN: Px = 40_00;
const WEB: Px = 9_00;
const PIN: Px = 30_00;

fn crank(page: &mut Page, drawing: &Drawing) {
    let pins = counted(drawing.pins.len());
    let wide = counted(drawing.mains.len()) * (MAIN + 8_00) + pins * (PIN + 2 * WEB + 8_00);
    let axis = 70_00;
    let all: Vec<Shape> =
        drawing.mains.iter().cloned().chain(drawing.pins.iter().map(|pin| pin.shape.clone())).collect();
    page.drawing("crank", (wide + 2 * EDGE, 146_00), &spoken(&all));
    page.line("centre", (2_00, axis), (wide + 2 * EDGE - 2_00, axis));
    let mut x = EDGE;
    for (at, main) in drawing.mains.iter().enumerate() {
        outlined(page, main.state, &Outline::Box { x, y: axis - 17_00, wide: MAIN, high: 34_00 });
        page.label("tick", (x + MAIN / 2, axis + 32_00), &main.label);
        x += MAIN + 4_00;
        for pin in drawing.pins.iter().filter(|pin| pin.after_main == at + 1) {
            x = throw(page, pin, x, axis);
        }
        x += 4_00;
    }
    page.raw("</svg>");
}

/// Two webs and the pin between them; returns where the next thing begins.
fn throw(page: &mut Page, pin: &PinDrawing, x: Px, axis: Px) -> Px {
    let rise = -THROW * cosine_e3(pin.degrees) / 1000;
    let (top, foot) = ((axis - 15_00).min(axis + rise - 17_00), (axis + 15_00).max(axis + rise + 17_00));
    for web in [x, x + WEB + 4_00 + PIN] {
        page.shape("rect", "web", &[("x", web), ("y", top), ("width", WEB), ("height", foot - top)]);
    }
    let outline = Outline::Box { x: x + WEB + 2_00, y: axis + rise - 13_00, wide: PIN, high: 26_00 };
    outlined(page, pin.shape.state, &outline);
    let beside = if rise <= 0 { axis + rise - 19_00 } else { axis + rise + 28_00 };
    page.label("tick", (x + WEB + 2_00 + PIN / 2, beside), &pin.shape.label);
    x + 2 * WEB + 4_00 + PIN + 4_00
}

/// Cosine in thousandths, of whole degrees; by the rational approximation
/// (4·90² − 4x²) / (4·90² + x²) for x up to 90 degrees, good to 2 in a thousand
/// (Bhaskara I, 7th century): enough for a drawing.
#[must_use]
pub fn cosine_e3(degrees: i64) -> i64 {
    let turned = degrees.rem_euclid(360);
    let from_up = turned.min(360 - turned);
    let (x, sign) = if from_up <= 90 { (from_up, 1) } else { (180 - from_up, -1) };
    sign * 1000 * (32_400 - 4 * x * x) / (32_400 + x * x)
}

fn rods(page: &mut Page, rods: &[Shape]) {
    page.drawing("rods", (counted(rods.len()) * PITCH + 2 * EDGE, 126_00), &spoken(rods));
    for (at, rod) in rods.iter().enumerate() {
        let x = EDGE + PITCH / 2 + counted(at) * PITCH;
        page.line("centre", (x, 2_00), (x, 110_00));
        page.polygon("web", &[(x - 7_00, 27_00), (x + 7_00, 27_00), (x + 12_00, 58_00), (x - 12_00, 58_00)]);
        page.shape("circle", "web", &[("cx", x), ("cy", 17_00), ("r", 11_00)]);
        outlined(page, rod.state, &Outline::Ring { x, y: 78_00, radius: 24_00 });
        page.label("big", (x, 84_00), &rod.label);
    }
    page.raw("</svg>");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cosine_is_good_enough_to_draw() {
        // Exact: cos 0 = 1, cos 60 = 0.5, cos 90 = 0, cos 120 = -0.5, cos 180 = -1.
        for (degrees, exact) in
            [(0, 1000), (60, 500), (90, 0), (120, -500), (180, -1000), (300, 500), (-60, 500)]
        {
            assert!((cosine_e3(degrees) - exact).abs() <= 2, "{degrees}: {}", cosine_e3(degrees));
        }
    }

    #[test]
    fn every_state_is_drawn_its_own_way() {
        let drawn: std::collections::BTreeSet<String> = State::ALL
            .iter()
            .map(|state| {
                let mut page = Page::default();
                outlined(&mut page, *state, &Outline::Ring { x: 0, y: 0, radius: 31_00 });
                page.finish()
            })
            .collect();
        assert_eq!(drawn.len(), State::ALL.len());
    }
}
