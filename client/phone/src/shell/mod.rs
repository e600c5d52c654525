//! The browser: draws the view, performs the effects, brings back the events. It decides nothing.
//!
//! [`send`] gives the app an event, from anywhere: an event handler, an answer from the database,
//! a timer. The app's view then stands in one signal; [`screens`] shows the screen it is of.
//!
//! # How a screen is drawn
//!
//! One file here, `NAME.rs`, with one function `draw(view: Memo<app::NAME::View>) -> impl IntoView`,
//! whose name stands in its row of `app/screens.rs`. The function is called once, when the screen is opened; what
//! changes is read from `view` inside closures (`move || view.get().text`, or
//! `view.with(|view| ..)`), lists by `For` or by mapping inside one closure. Every handler is
//! `move |_| send(app::NAME::Event::Something)`; nothing is remembered here. Fields are bound with
//! [`parts::field`], problems shown with [`parts::problem`], the full-width action at the bottom
//! is [`parts::action`]. No inline styles and no inline scripts: the page's policy forbids both;
//! what a drawing needs beyond the style sheet are SVG attributes. Every target is a `button`, a
//! link or a field with a name, 48 px or more.

mod database;
mod device;
mod drawing;
mod fonts;
mod give;
mod js;
mod limit_line;
mod measure;
mod office;
mod parts;
mod screens;
mod tabs;
mod worker;

mod changed;
mod feature;
mod join;
mod people;
mod print;
mod reading;
mod record;
mod records;
mod rings;
mod step;
mod stop;
mod tightening;
mod who;
mod worksheet;
mod worksheets;

use std::cell::RefCell;
use std::collections::VecDeque;

use gudgeon_client::world::{Browser, World};
use leptos::prelude::*;
use wasm_bindgen::prelude::wasm_bindgen;

use crate::app::{App, Effect, Event, Place, View};

thread_local! {
    static RUNNING: RefCell<Option<Running>> = const { RefCell::new(None) };
    static WAITING: RefCell<VecDeque<Event>> = const { RefCell::new(VecDeque::new()) };
}

struct Running {
    app: App,
    shown: ArcRwSignal<View>,
}

/// Called by the page once the module is there.
#[wasm_bindgen(start)]
fn start() {
    console_error_panic_hook::set_once();
    let app = App::new(|| Box::new(Browser) as Box<dyn World>, device::address());
    let shown = ArcRwSignal::new(View::default());
    RUNNING.set(Some(Running { app, shown: shown.clone() }));
    fonts::bring();
    mount_to_body(move || screens::sheet(shown));
    device::listen();
    worker::register();
    tabs::claim();
    office::begin();
}

/// Gives the app an event, does what it says, and shows what there is to be seen then.
///
/// An event that is sent while another one is being handled waits for its turn.
fn send(event: impl Into<Event>) {
    WAITING.with_borrow_mut(|waiting| waiting.push_back(event.into()));
    let Ok(Some(mut running)) = RUNNING.try_with(RefCell::take) else { return };
    while let Some(event) = WAITING.with_borrow_mut(VecDeque::pop_front) {
        running.app.handle(event).into_iter().for_each(perform);
        let view = running.app.view();
        if running.shown.with_untracked(|shown| *shown != view) {
            running.shown.set(view);
        }
    }
    RUNNING.set(Some(running));
}

fn perform(effect: Effect) {
    match effect {
        Effect::Store(batches) => database::store(batches),
        Effect::Read => database::read(),
        Effect::Ask(ask) => office::ask(ask),
        Effect::Watch(session) => office::watch(session),
        Effect::Later(milliseconds, event) => js::after(milliseconds, move || send(event)),
        Effect::Address { place, replace } => device::show_address(&place, replace),
        Effect::KeepAwake(awake) => device::keep_awake(awake),
        Effect::Buzz(buzz) => device::buzz(buzz),
        Effect::AskToKeep => device::ask_to_keep(),
        Effect::GiveOut { name, media, bytes } => give::give_out(name, media, &bytes),
        Effect::Print => give::print(),
        Effect::Update => worker::update(),
    }
}

/// A click that goes to a place.
fn go(place: Place) -> impl Fn(leptos::ev::MouseEvent) + 'static {
    move |click| {
        click.prevent_default();
        device::show_address(&place, false);
        send(Event::Went(place.clone()));
    }
}
