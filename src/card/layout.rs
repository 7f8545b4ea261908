//! The card's layout (file format 1): lengths in millimetres, origin at the card's top left corner, x right, y down.

use serde::Deserialize;

/// An axis-parallel rectangle, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
pub struct Rect {
    pub x: f64,
    pub y: f64,
    pub w: f64,
    pub h: f64,
}

impl Rect {
    /// Its centre.
    pub fn centre(&self) -> [f64; 2] {
        [self.x + self.w / 2.0, self.y + self.h / 2.0]
    }
}

/// Where vials stand: centres along the bay's lower edge.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Stations {
    pub x: Vec<f64>,
    pub names: Vec<String>,
}

/// A fiducial of the family tag36h11; x, y and edge bound its black square.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
pub struct Marker {
    pub id: u32,
    pub x: f64,
    pub y: f64,
    pub edge: f64,
}

/// A colour or grey patch with its nominal 8-bit sRGB before printing.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Patch {
    pub name: String,
    #[serde(flatten)]
    pub rect: Rect,
    pub srgb: [u8; 3],
}

/// A card layout.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Layout {
    pub layout: u32,
    pub width: f64,
    pub height: f64,
    pub bay: Rect,
    pub stations: Stations,
    #[serde(rename = "marker")]
    pub markers: Vec<Marker>,
    #[serde(rename = "patch")]
    pub patches: Vec<Patch>,
}

impl Layout {
    /// The layout shipped with the program.
    pub fn first() -> Self {
        // Checked by a test; the text is compiled in.
        toml::from_str(include_str!("../../calibration/card/layout-1.toml")).expect("the shipped layout is well-formed")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shipped_layout_is_as_drawn() {
        let l = Layout::first();
        assert_eq!((l.layout, l.width, l.height), (1, 150.0, 100.0));
        assert_eq!(l.markers.iter().map(|m| m.id).collect::<Vec<_>>(), [0, 1, 2, 3]);
        assert_eq!((l.patches.len(), l.stations.names.join("")), (28, "ABCD".to_string()));
        assert!(
            l.markers
                .iter()
                .all(|m| m.x >= m.edge / 8.0 && m.x + m.edge * 1.125 <= l.width && m.y + m.edge * 1.125 <= l.height)
        );
    }
}
