//! A day in the shop: an office, a lead at a desk, gauges, and people with their phones. Everything
//! in it is invented.

use std::ops::Deref;
use std::path::Path;

use gudgeon_core::assess::{Record, Workshop, assess};
use gudgeon_core::engine::EXAMPLE;
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::Instrument;
use gudgeon_core::quantity::Quantity;
use gudgeon_core::sheet::{self, Sheet, StepRow};
use tempfile::TempDir;

use super::driver::{Browser, Driver, ENTER};
use super::{Lead, Office, PIN, asks_to_join, keeps_the_app};

/// What this shop does otherwise: the bores are the first thing that is measured, and nothing comes
/// before honing.
const STEPS: &str = r#"
[[step]]
id = "bores-measured"
stage = 4
title = "Bores as found"
per = ["bore"]
evidence = [{ read = "diameter" }]
as-found = true
second-person = true
blind = true

[[step]]
id = "honed"
stage = 8
title = "Hone the bore"
per = ["bore"]
evidence = [{ operation = "hone" }, { judged = "diameter" }]
"#;

/// Mark, sort, range, what it is set on.
const GAUGES: [(&str, &str, [&str; 2], &str); 3] = [
    ("M1", "outside-micrometer", ["75 mm", "100 mm"], ""),
    ("M2", "outside-micrometer", ["50 mm", "75 mm"], ""),
    ("B1", "bore-gauge", ["50 mm", "100 mm"], "M1"),
];

/// The stations of a bore in the order in which they come up, as they are said.
pub const STATIONS: [&str; 6] =
    ["top thrust", "top axial", "middle thrust", "middle axial", "bottom thrust", "bottom axial"];

/// See the [module](self).
pub struct Shop {
    data: TempDir,
    office: Option<Office>,
    /// Where browsers find the office.
    pub url: String,
    pub lead: Lead,
    pub driver: Driver,
}

impl Shop {
    pub fn opens() -> Self {
        Self::opens_by(Driver::start())
    }

    /// With browsers of this driver.
    pub fn opens_by(driver: Driver) -> Self {
        let data = tempfile::tempdir().unwrap();
        let office = Office::open(data.path().to_owned(), None);
        let mut lead = Lead::founds_on(format!("http://{}", office.at), &format!("{EXAMPLE}{STEPS}"));
        let gauges: Vec<Payload> = GAUGES.into_iter().map(gauge).collect();
        lead.rules(&gauges);
        lead.meets();
        Self { data, url: office.url(), office: Some(office), lead, driver }
    }

    /// Somebody new is invited and let in, with a phone of their own.
    pub fn phone_of(&mut self, name: &str) -> Phone {
        let profile = tempfile::tempdir().unwrap();
        let phone = self.browser_of(profile);
        self.lets_in(&phone, name, PIN);
        phone
    }

    /// A phone is killed, and turned on again with so many bytes of room for what it keeps.
    pub fn with_room(&self, phone: Phone, bytes: u64) -> Phone {
        let profile = phone.dies();
        let browser = self.driver.browser(profile.path());
        browser.room(self.url.trim_end_matches('/'), bytes);
        self.opened(browser, profile)
    }

    /// A phone that nobody has joined.
    pub fn browser_of(&self, profile: TempDir) -> Phone {
        self.opened(self.driver.browser(profile.path()), profile)
    }

    fn opened(&self, browser: Browser, profile: TempDir) -> Phone {
        browser.go(&self.url);
        let record = format!("record/{}", self.lead.record.to_hex());
        Phone { browser, profile, record, url: self.url.clone() }
    }

    /// On the form that is open somebody new joins, and is let in.
    pub fn lets_in(&mut self, phone: &Phone, name: &str, pin: &str) {
        let code = self.lead.invites(name);
        self.lead.meets();
        asks_to_join(phone, &code, &format!("phone of {name}"), pin);
        phone.says("all at the office");
        assert_eq!(self.lead.meets().admitted.len(), 1, "one asker, let in by the lead's own meeting");
        phone.until("let in", || !phone.text().contains("asked to be let in"));
        phone.says("Engine one");
        keeps_the_app(phone);
    }

    /// A phone is killed, and turned on again.
    pub fn kills(&self, phone: Phone) -> Phone {
        self.browser_of(phone.dies())
    }

    /// The relay stops.
    pub fn office_closes(&mut self) {
        self.office.take().expect("open").close();
    }

    /// And is there again, where it was.
    pub fn office_opens(&mut self) {
        let port = self.url.trim_end_matches('/').rsplit(':').next().unwrap();
        let at = format!("127.0.0.1:{port}").parse().unwrap();
        self.office = Some(Office::open(self.data.path().to_owned(), Some(at)));
    }

    /// The lead meets the office, and knows what is there.
    pub fn lead_knows(&mut self) -> Sheet {
        self.lead.meets();
        let home = &self.lead.home;
        let record = Record::read(home.log(self.lead.record).unwrap().clone());
        let workshop = Workshop::read(home.log(self.lead.workshop).unwrap().clone());
        sheet::model(&record, &workshop, &assess(&record, &workshop))
    }

    /// The day is over: the browsers are gone before this.
    pub fn ends(self) {
        if let Some(office) = self.office {
            office.close();
        }
    }
}

/// A step on the lead's sheet.
pub fn step<'s>(sheet: &'s Sheet, id: &str) -> &'s StepRow {
    sheet.stages.iter().flat_map(|stage| &stage.steps).find(|step| step.id == id).expect("such a step")
}

fn gauge((mark, sort, range, master): (&str, &str, [&str; 2], &str)) -> Payload {
    let size = |text: &str| Some(Quantity::parse(text).unwrap());
    Payload::Instrument(Box::new(Instrument {
        mark: mark.to_owned(),
        sort: sort.to_owned(),
        resolution: size("0.001 mm"),
        standard_uncertainty: size("1 µm"),
        range_low: size(range[0]),
        range_high: size(range[1]),
        master: master.to_owned(),
        calibrated_on: Some(1_700_000_000_000),
        calibration_due: Some(4_000_000_000_000),
        calibration_seen: true,
        ..Instrument::default()
    }))
}

/// A phone of somebody, with what a hand does on it.
pub struct Phone {
    browser: Browser,
    profile: TempDir,
    record: String,
    url: String,
}

impl Deref for Phone {
    type Target = Browser;

    fn deref(&self) -> &Browser {
        &self.browser
    }
}

impl Phone {
    /// It is turned off; what its browser has kept.
    pub fn closes(self) -> TempDir {
        let Self { browser, profile, .. } = self;
        drop(browser);
        profile
    }

    /// It is killed; what its browser has kept.
    pub fn dies(self) -> TempDir {
        let Self { browser, profile, .. } = self;
        browser.kill();
        profile
    }

    pub fn profile(&self) -> &Path {
        self.profile.path()
    }

    /// Goes to a place of the app, or of the record: `feature/bore/1`.
    pub fn goes(&self, place: &str) {
        let whole =
            if place.starts_with('/') { place.to_owned() } else { format!("/{}/{place}", self.record) };
        self.go(&format!("{}#{}", self.url, whole.trim_end_matches('/')));
    }

    /// The place it is at, without the record.
    pub fn place(&self) -> String {
        let hash = self.script("return location.hash");
        hash.as_str().unwrap().replace(&format!("#/{}/", self.record), "")
    }

    /// Somebody with a key on it takes it in hand.
    pub fn held_by(&self, name: &str, pin: &str) {
        self.goes("/who/records");
        self.presses(name);
        self.types("PIN", pin);
        self.presses("That is me");
        self.says("Engine one");
        self.says(&format!("{name} holds the phone"));
    }

    /// Bore gauge and temperature in hand, at the first station of a bore that is to be read.
    pub fn at_bore(&self, bore: u8, celsius: &str) {
        self.goes(&format!("read/bore/{bore}/diameter"));
        self.presses_at("//button[em='Gauge']");
        self.presses_at("//button[contains(@class,'r-gauge')][strong='B1']");
        self.presses_at("//button[em='Temperature']");
        self.types("Part, °C", celsius);
        self.presses("Back to the keys");
    }

    /// Types on the screen's own keys.
    pub fn taps(&self, text: &str) {
        text.chars().for_each(|key| self.presses(if key == '-' { "minus" } else { key_name(key) }));
    }

    /// Types a value on the screen's own keys and keeps it; `kept` is what is said then.
    pub fn reads(&self, value: &str, kept: &str) {
        self.taps(value);
        self.presses("Keep");
        self.kept(kept);
    }

    /// A gauge types it, and Enter.
    pub fn gauge_reads(&self, value: &str, kept: &str) {
        self.keys(&format!("{value}{ENTER}"));
        self.kept(kept);
    }

    fn kept(&self, what: &str) {
        self.says(&format!("kept: {what}"));
    }

    /// Reads all stations of a bore, by a gauge that types.
    pub fn reads_bore(&self, bore: u8, values: [&str; 6]) {
        for (station, value) in STATIONS.into_iter().zip(values) {
            self.says(&format!("bore {bore}: {}", station.replace(' ', ", ")));
            self.gauge_reads(value, &format!("bore {bore} {station} {value} mm"));
        }
    }

    /// Signs the step that is open.
    pub fn signs(&self, name: &str, pin: &str) {
        self.types(&format!("PIN of {name}"), pin);
        self.presses(&format!("Hold to sign as {name}"));
        self.presses("Sign without holding");
        self.says("signed, ");
    }

    /// What stands in the printed record, which has a tree of its own.
    pub fn printed(&self) -> String {
        let text = "const e = document.querySelector('.printed'); return e && e.shadowRoot ? [...e.shadowRoot.children].map((c) => c.innerText).join('\\n') : ''";
        self.script(text).as_str().unwrap_or_default().to_owned()
    }
}

fn key_name(key: char) -> &'static str {
    const NAMES: [(char, &str); 11] = [
        ('0', "0"),
        ('1', "1"),
        ('2', "2"),
        ('3', "3"),
        ('4', "4"),
        ('5', "5"),
        ('6', "6"),
        ('7', "7"),
        ('8', "8"),
        ('9', "9"),
        ('.', "point"),
    ];
    NAMES.iter().find(|(of, _)| *of == key).expect("a key").1
}
