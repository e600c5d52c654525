//! Every screen: one row each.

use super::{
    Desk, Effect, Event, Place, changed, feature, join, people, print, reading, record, records, rings, step,
    tightening, who, worksheet, worksheets,
};

macro_rules! screens {
    ($($(#[$doc:meta])* $Name:ident $module:ident;)*) => {
        /// The screen that is open, with what it remembers.
        #[derive(Default)]
        #[allow(missing_docs, reason = "each says itself")]
        #[allow(clippy::large_enum_variant, reason = "there is one at a time")]
        pub enum Screen {
            /// Nothing is read yet.
            #[default]
            Opening,
            $($Name($module::Model),)*
        }

        /// Something on a screen.
        #[allow(missing_docs, reason = "each says itself")]
        pub enum OnScreen {
            $($Name($module::Event),)*
        }

        /// What is to be seen of it.
        #[derive(Clone, Debug, Default, PartialEq)]
        #[allow(clippy::large_enum_variant, reason = "there is one at a time")]
        #[allow(missing_docs, reason = "each says itself")]
        #[allow(clippy::large_enum_variant, reason = "there is one at a time")]
        pub enum ScreenView {
            /// Nothing is read yet.
            #[default]
            Opening,
            $($Name($module::View),)*
        }

        /// Which screen it is.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum Which {
            /// None yet.
            Opening,
            $($(#[$doc])* $Name,)*
        }

        impl Screen {
            /// What happened on a screen that is no longer open is dropped.
            pub(super) fn handle(&mut self, event: OnScreen, desk: &mut Desk) {
                match (self, event) {
                    $((Self::$Name(model), OnScreen::$Name(event)) => model.handle(event, desk),)*
                    (_, _) => {}
                }
            }

            pub(super) fn view(&self, desk: &Desk) -> ScreenView {
                match self {
                    Self::Opening => ScreenView::Opening,
                    $(Self::$Name(model) => ScreenView::$Name(model.view(desk)),)*
                }
            }
        }

        impl ScreenView {
            /// Which screen it is of.
            #[must_use]
            pub const fn which(&self) -> Which {
                match self {
                    Self::Opening => Which::Opening,
                    $(Self::$Name(_) => Which::$Name,)*
                }
            }
        }

        $(impl From<$module::Event> for Event {
            fn from(event: $module::Event) -> Self {
                Self::Screen(OnScreen::$Name(event))
            }
        })*
    };
}

/// Gives every screen, a row each, to a macro: what it is, its name, and its module here and in the shell.
macro_rules! each_screen {
    ($then:ident) => {
        $then! {
            /// Join a workshop by the code of an invite.
            Join join;
            /// Who holds the phone: a key and its PIN.
            Who who;
            /// The workshop's records.
            Records records;
            /// One record: what is read, and the steps.
            Record record;
            /// One feature: what stands on it, and its history.
            Feature feature;
            /// Take a reading.
            Reading reading;
            /// A step, and signing it.
            Step step;
            /// Tightening a group of fasteners.
            Tightening tightening;
            /// Setting the ring gaps round a piston.
            Rings rings;
            /// The worksheets.
            Worksheets worksheets;
            /// One worksheet as a form.
            Worksheet worksheet;
            /// What came since, and what needs somebody.
            Changed changed;
            /// People and this phone.
            People people;
            /// The printed record.
            Print print;
        }
    };
}
#[cfg(target_arch = "wasm32")]
pub(crate) use each_screen;

each_screen!(screens);

impl Screen {
    /// It asked who holds the phone, and that is known now: it goes on as it was left.
    pub(super) fn came_back(&mut self, place: &Place, desk: &mut Desk) {
        // The records may have been read again meanwhile.
        place.record().into_iter().for_each(|record| desk.look(record));
        if place.keeps_awake() {
            desk.effect(Effect::KeepAwake(true));
        }
        if let Self::Reading(model) = self {
            model.came_back(desk);
        }
    }
}
