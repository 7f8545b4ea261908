//! What is drawn, in units of a ninety-sixth of an inch from the top left corner: the same shapes go to SVG and PNG.

/// How dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tone {
    Ink,
    /// For what stands behind: frames, connecting lines, marks of events.
    Soft,
    Ground,
}

/// Which end of a text stands at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// Lengths drawn and left out; nothing for an unbroken line.
pub(super) type Dash = Option<[f64; 2]>;

/// A line's width, tone and dash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pen {
    pub width: f64,
    pub tone: Tone,
    pub dash: Dash,
}

impl Pen {
    pub const fn new(width: f64, tone: Tone) -> Self {
        Self { width, tone, dash: None }
    }

    pub const fn dashed(self, dash: [f64; 2]) -> Self {
        Self { dash: Some(dash), ..self }
    }
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum Shape {
    /// Joined straight lines.
    Line {
        points: Vec<[f64; 2]>,
        pen: Pen,
    },
    /// A closed area.
    Area {
        points: Vec<[f64; 2]>,
        fill: Tone,
        pen: Option<Pen>,
    },
    Disc {
        at: [f64; 2],
        radius: f64,
        fill: Tone,
        pen: Pen,
    },
    /// A line of text; its place is on the baseline.
    Text {
        at: [f64; 2],
        em: f64,
        bold: bool,
        tone: Tone,
        anchor: Anchor,
        text: String,
    },
    /// What follows up to the matching `End` shows one thing, named for who reads by ear.
    Begin {
        class: &'static str,
        entry: String,
        words: String,
    },
    End,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scene {
    pub width: f64,
    pub height: f64,
    /// What it shows, in words.
    pub title: String,
    pub shapes: Vec<Shape>,
}

impl Scene {
    pub fn new(width: f64, title: impl Into<String>) -> Self {
        Self { width, height: 0.0, title: title.into(), shapes: Vec::new() }
    }

    pub fn line(&mut self, points: &[[f64; 2]], pen: Pen) {
        self.shapes.push(Shape::Line { points: points.to_vec(), pen });
    }

    pub fn area(&mut self, points: &[[f64; 2]], fill: Tone, pen: Option<Pen>) {
        self.shapes.push(Shape::Area { points: points.to_vec(), fill, pen });
    }

    pub fn text(&mut self, at: [f64; 2], em: f64, anchor: Anchor, text: impl Into<String>) {
        let text = text.into();
        self.shapes.push(Shape::Text { at, em, bold: false, tone: Tone::Ink, anchor, text });
    }

    pub fn bold(&mut self, at: [f64; 2], em: f64, text: impl Into<String>) {
        let (text, anchor) = (text.into(), Anchor::Start);
        self.shapes.push(Shape::Text { at, em, bold: true, tone: Tone::Ink, anchor, text });
    }

    pub fn begin(&mut self, class: &'static str, entry: &str, words: String) {
        self.shapes.push(Shape::Begin { class, entry: entry.into(), words });
    }

    pub fn end(&mut self) {
        self.shapes.push(Shape::End);
    }
}
