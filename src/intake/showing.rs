//! What a photo shows and what it is read with; and the one way from there into the log.

use super::{
    At, Bench, CardInUse, Home, IntakeError, Keeping, Kept, Ledger, Look, Named, Noted, Opened, Originals, Places,
    Sayings, When, asks, clear_at, controls, enter, look,
};
use crate::card::Layout;
use crate::curve::Kit;
use crate::log::{Log, Reading, Start, Tank, Target};
use jiff::Timestamp;
use jiff::tz::TimeZone;

/// What the keeper says about a photo, apart from labels in it and what stands written beside it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Given {
    /// `STATION=TEST` or `STATION=TEST:1+4`.
    pub stations: Vec<String>,
    /// The tank's name; labels must not say another.
    pub tank: Option<String>,
    /// The tank's name where labels say none.
    pub else_tank: Option<String>,
    /// The kit's name.
    pub kit: Option<String>,
    /// The card's name.
    pub card: Option<String>,
    /// Station of the clear vial.
    pub clear: Option<String>,
}

/// Who said what a photo shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum By {
    /// Labels in it.
    Labels,
    /// The keeper.
    Typed,
    /// A rule or a table, and where it stands.
    Rule(String),
    /// The log, of a photo read again.
    Log,
}

/// A label that was read: its station, the words on it, its outline in upright pixels.
pub type LabelSeen = (String, String, [[f64; 2]; 4]);

/// What a photo shows, and what it is read with.
#[derive(Clone)]
pub struct Showing {
    /// What stands where.
    pub named: Named,
    /// The tank by whose zone times are told.
    pub tank: Tank,
    /// All tanks.
    pub tanks: Vec<Tank>,
    /// When tests were started.
    pub starts: Vec<Start>,
    /// The kit.
    pub kit: Kept<Kit>,
    /// The card.
    pub card: CardInUse,
    /// Labels in the photo.
    pub labels: Vec<LabelSeen>,
    /// Who said so.
    pub by: By,
    /// The time said in a table beside the photo.
    pub at: Option<At>,
}

/// A photo that was read and is ready to be logged.
pub struct Ready {
    /// What was read.
    pub look: Look,
    /// What it was read with.
    pub showing: Showing,
}

impl Given {
    /// What can be wrong with it that is seen without the photo. Which kit it is may be left to labels and rules.
    pub fn check(&self, home: &Home, layout: &Layout) -> Result<(), IntakeError> {
        let kit = match home.kit(self.kit.as_deref()) {
            Ok(kit) => kit,
            Err(IntakeError::Which { .. }) => return Ok(()),
            Err(e) => return Err(e),
        };
        let asks = asks(&self.stations, &kit.value, layout)?;
        let taken: Vec<_> = asks.into_iter().map(|a| (a.station, a.test)).collect();
        self.clear.as_deref().map(|s| clear_at(s, &taken, &kit.value, layout)).transpose()?;
        home.card_for(self.card.as_deref(), &kit.value, layout).map(drop)
    }

    /// What a photo shows: labels come first, beside them what was typed; where they name no test, a rule; else nobody says it.
    pub fn shown(
        &self,
        opened: &mut Opened,
        home: &Home,
        log: &Log,
        said: &Sayings,
        layout: &Layout,
    ) -> Result<Showing, IntakeError> {
        let told = opened.told(log, layout)?;
        if told.is_none() && self.stations.is_empty() {
            // A rule does not make a test's photo of every photo in a folder.
            return Err(opened.unseen().unwrap_or(IntakeError::NoSamples { known: Vec::new() }));
        }
        let told = told.unwrap_or_default();
        let rule = said.of(&opened.path).filter(|_| self.stations.is_empty());
        let tested = told.stands.iter().any(|s| s.test.is_some());
        let by_rule = rule.filter(|_| !tested && told.unreadable.is_empty());
        let words = by_rule.map_or(&self.stations, |r| &r.stations);
        let named_kit = told.kit(self.kit.as_deref()).map_err(|e| opened.of_labels(e))?;
        let kit = home.kit(named_kit.or(by_rule.and_then(|r| r.kit.as_deref())))?;
        let typed = asks(words, &kit.value, layout)?;
        let tanks = log.tanks()?;
        let given = self.tank.as_deref().map(|name| log.tank(name)).transpose()?;
        let by_name = rule.and_then(|r| r.tank.as_deref()).or(self.else_tank.as_deref());
        let by_name = by_name.map(|name| log.tank(name)).transpose()?;
        let only = if let [one] = &tanks[..] { Some(one.id) } else { None };
        let only = by_name.map(|t| t.id).or(only);
        if told.stands.is_empty() && told.unreadable.is_empty() && !typed.is_empty() && only.is_none() {
            // Without labels a photo is of one tank.
            home.tank(log, self.tank.as_deref())?;
        }
        let named = told.named(&typed, given.as_ref().map(|t| Target::Tank(t.id)), only.map(Target::Tank), &kit.value);
        let named = named.map_err(|e| opened.with_labels(e))?;
        let named = named.with_clear(self.clear.as_deref(), &kit.value, layout)?;
        let card = home.card_for(self.card.as_deref(), &kit.value, layout)?;
        let first = named.waters.iter().find_map(|w| w.target.tank());
        let tank = tanks.iter().find(|t| Some(t.id) == first).or(given.as_ref()).or(tanks.first());
        let tank = tank.cloned().ok_or(IntakeError::NoneYet { what: "tank" })?;
        let by = match (by_rule, tested) {
            (Some(rule), _) if !rule.stations.is_empty() => By::Rule(rule.written()),
            (_, true) => By::Labels,
            _ => By::Typed,
        };
        let at = rule.and_then(|r| r.at.as_deref()).map(At::parse).transpose()?;
        let starts = log.starts()?;
        Ok(Showing { named, tank, tanks, starts, kit, card, labels: told.shown, by, at })
    }

    /// What the log says of a photo, with the present revision of the kit it was read with.
    pub fn logged(
        &self,
        opened: &Opened,
        standing: &[Reading],
        home: &Home,
        log: &Log,
        layout: &Layout,
    ) -> Result<Showing, IntakeError> {
        let first = standing.first().ok_or_else(|| IntakeError::NotLogged { path: opened.path.clone() })?;
        let kit = home.kit(self.kit.as_deref().or(first.test.kit.as_deref()))?;
        let named = opened.logged(standing, &kit.value)?;
        let named = named.with_clear(self.clear.as_deref(), &kit.value, layout)?;
        let tanks = log.tanks()?;
        let own = || standing.iter().find_map(|r| r.sample.tank.as_deref());
        let tank = match self.tank.as_deref().or_else(own) {
            Some(name) => log.tank(name)?,
            // Tap water and standards have no zone of their own.
            None => tanks.first().cloned().ok_or(IntakeError::NoneYet { what: "tank" })?,
        };
        let card = home.card_for(self.card.as_deref(), &kit.value, layout)?;
        let starts = log.starts()?;
        Ok(Showing { named, tank, tanks, starts, kit, card, labels: Vec::new(), by: By::Log, at: None })
    }
}

impl Showing {
    /// What it is read with.
    pub fn bench<'a>(&'a self, layout: &'a Layout) -> Bench<'a> {
        Bench { layout, kit: &self.kit, card: &self.card, tank: &self.tank, tanks: &self.tanks, starts: &self.starts }
    }

    /// Reads the photo, and says what control checks of the kit say against it. `standing` is what the log has of it.
    pub fn read(
        self,
        opened: Opened,
        standing: Vec<Reading>,
        when: &When,
        log: &Log,
        layout: &Layout,
        now: Timestamp,
    ) -> Result<Ready, IntakeError> {
        let when = When { at: when.at.or(self.at), ..*when };
        let mut look = look(opened, self.named.clone(), standing, &self.bench(layout), &when, now)?;
        let today = TimeZone::UTC.to_datetime(now).date();
        look.controlled(&controls(&self.kit, &log.events(None)?, today));
        Ok(Ready { look, showing: self })
    }
}

impl Ready {
    /// Says where it was taken, by what is known of places, and counts it there.
    pub fn placed(&mut self, places: &mut Places) {
        let Some(light) = self.look.light().map(<[f64]>::to_vec) else { return };
        let (kit, photo) = (&self.showing.kit.value, self.look.opened.photo.id());
        let placed = places.placed(&light, kit, photo);
        places.visit(&light, Some(&kit.name), photo, self.look.capture.moment.instant);
        self.look.place = placed;
    }

    /// A reading in the log of another photo that is most likely this one, saved anew. Asked only of a photo that the log does not
    /// have.
    pub fn twin(&self, ledger: &Ledger, layout: &Layout) -> Option<IntakeError> {
        let fresh = self.look.standing.is_empty() && ledger.known(self.look.opened.photo.id()).is_none();
        ledger.twin(&self.look, &self.showing.bench(layout)).filter(|_| fresh)
    }

    /// Keeps the original, then logs the readings.
    ///
    /// In this order: what is killed in between leaves an original without readings, and the photo is read anew.
    pub fn log(
        &self,
        log: &mut Log,
        originals: &mut Originals<'_>,
        layout: &Layout,
        again: bool,
        now: Timestamp,
    ) -> Result<(Vec<Noted>, Keeping), IntakeError> {
        let keeping = originals.keep(&self.look.opened)?;
        let noted = enter(log, &self.look, &self.showing.bench(layout), again, now)?;
        Ok((noted, keeping))
    }
}
