//! The screen that is open, drawn by the module of its row in `app/screens.rs`, and the sheet around it.

use leptos::prelude::*;

use super::{
    changed, drawing, feature, join, parts, people, print, reading, record, records, rings, step, tightening,
    who, worksheet, worksheets,
};
use crate::app::screens::each_screen;
use crate::app::{ScreenView, View, Which};

macro_rules! screens {
    ($($(#[$doc:meta])* $Name:ident $module:ident;)*) => {
        fn screen(which: Which, shown: ArcRwSignal<View>) -> AnyView {
            match which {
                Which::Opening => view! { <p class="quiet">"opening"</p> }.into_any(),
                $(Which::$Name => {
                    // While the next screen comes, the last view of this one stays.
                    let view = Memo::new(move |last: Option<&crate::app::$module::View>| {
                        shown.with(|view| match &view.screen {
                            ScreenView::$Name(view) => view.clone(),
                            _ => last.cloned().unwrap_or_default(),
                        })
                    });
                    $module::draw(view).into_any()
                })*
            }
        }
    };
}

each_screen!(screens);

/// The whole page.
pub(super) fn sheet(shown: ArcRwSignal<View>) -> impl IntoView {
    let (head, message, now) = (shown.clone(), shown.clone(), shown.clone());
    let head = Memo::new(move |_| head.with(|view| view.head.clone()));
    let message = Memo::new(move |_| message.with(|view| view.message.clone()));
    // A screen is drawn anew when another one is opened, or the same at another place.
    let which = Memo::new(move |_| now.with(|view| (view.screen.which(), view.head.title.clone())));
    view! {
        {drawing::hatchings()}
        {parts::head(head)}
        {parts::message(message)}
        <main>{move || screen(which.get().0, shown.clone())}</main>
    }
}
