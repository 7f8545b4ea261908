//! Finds vials standing before the bay: their axis, width, the liquid's surface and its foot.

use super::view::View;
use crate::card::layout::Layout;

/// A vial as seen on the card's plane (mm).
#[derive(Debug, Clone, PartialEq)]
pub struct Vial {
    /// Name of the station it stands at.
    pub station: String,
    /// x of the axis at `SHEAR_AT`.
    pub x: f64,
    /// Lean of the axis: mm to the right for each mm down.
    pub lean: f64,
    /// Half the outer width.
    pub half: f64,
    /// y of the liquid's surface (meniscus).
    pub top: f64,
    /// y from which the liquid is free of the meniscus.
    pub calm: f64,
    /// y of the liquid's foot.
    pub foot: f64,
    /// How clearly the walls stand out (ln units a mm); below `WALLS` there is no vial.
    pub walls: f64,
    /// How clearly the surface stands out.
    pub surface: f64,
}

/// Height at which `Vial::x` is given, mm.
pub const SHEAR_AT: f64 = 80.0;
/// Rows over which walls are sought: between cap and foot of any vial that fits the card.
const ROWS: (f64, f64) = (54.0, 97.0);
/// Least clearness of walls that make a vial; shadows and prints stay below.
pub const WALLS: f64 = 0.19;
/// Half widths that count as one kind of vial: this many steps either side.
const BAND: usize = 3;
/// Half widths sought, mm: vials of about 12 to 25 mm, seen a little larger than on the card's plane.
const HALVES: (f64, f64) = (6.0, 13.0);
/// Lowest y at which a surface is sought: below, too little liquid is before the paper.
const SURFACE_TO: f64 = 87.0;
/// A vial's axis stands this near its station's mark, mm, counting parallax.
const ASTRAY: f64 = 11.0;

impl Vial {
    /// x of the axis at a height.
    pub fn axis(&self, y: f64) -> f64 {
        self.x + self.lean * (y - SHEAR_AT)
    }

    /// A point of the vial: `across` in half widths from the axis, `up` in shares of the liquid's height from its foot.
    pub fn point(&self, across: f64, up: f64) -> [f64; 2] {
        let y = self.foot + (self.top - self.foot) * up;
        [self.axis(y) + across * self.half, y]
    }
}

/// The clearest vial at each station. Vials of one photo are of one kind: a width is chosen on which the stations agree,
/// so that walls of two neighbours are not taken for one wide vial. What has no clear walls ([`WALLS`]) is left out.
pub fn find(view: &View, layout: &Layout) -> Vec<Vial> {
    let edges = Edges::new(view);
    let stations: Vec<Vec<Option<Walls>>> = layout.stations.x.iter().map(|mark| edges.by_width(*mark)).collect();
    let score = |w: &Option<Walls>| w.as_ref().map_or(0.0, |w| (w.score - WALLS).max(0.0));
    let band = |h: usize| h.saturating_sub(BAND)..=h + BAND;
    let within = |widths: &[Option<Walls>], h: usize| -> Option<Walls> {
        band(h).filter_map(|k| widths.get(k)?.clone()).max_by(|a, b| a.score.total_cmp(&b.score))
    };
    let total = |h: &usize| -> f64 { stations.iter().map(|s| score(&within(s, *h))).sum() };
    let Some(agreed) = (0..stations[0].len()).max_by(|a, b| total(a).total_cmp(&total(b))) else {
        return Vec::new();
    };
    let found = layout.stations.names.iter().zip(&stations).filter_map(|(name, s)| {
        let walls = within(s, agreed).filter(|w| w.score > WALLS)?;
        let (top, calm, foot, surface) = column(view, &walls);
        let Walls { x, lean, half, score } = walls;
        Some(Vial { station: name.clone(), x, lean, half, top, calm, foot, walls: score, surface })
    });
    found.collect()
}

/// Where two upright walls stand.
#[derive(Clone)]
struct Walls {
    x: f64,
    lean: f64,
    half: f64,
    score: f64,
}

/// Mean strength of upright edges along leaning lines.
struct Edges {
    from: f64,
    leans: Vec<f64>,
    /// For each lean, for each x (quarter millimetres).
    strength: Vec<Vec<f64>>,
}

const STEP: f64 = 0.25;

impl Edges {
    fn new(view: &View) -> Self {
        let (from, to) = (12.0, 138.0);
        let n = ((to - from) / STEP) as usize;
        let leans: Vec<f64> = (-4..=4).map(|i| i as f64 * 0.025).collect();
        let rows: Vec<f64> = (0..).map(|i| ROWS.0 + i as f64).take_while(|y| *y < ROWS.1).collect();
        let strength = leans
            .iter()
            .map(|lean| {
                let mut sums = vec![0.0; n];
                for y in &rows {
                    let line = view.line(*y);
                    let shift = from + lean * (y - SHEAR_AT);
                    for (i, sum) in sums.iter_mut().enumerate() {
                        let at = shift + i as f64 * STEP;
                        let (a, b) = (line.at(at - 0.3), line.at(at + 0.3));
                        // Capped, so that a few black rows do not outweigh a whole faint wall.
                        *sum += f64::from((0..3).map(|c| (b[c] - a[c]).abs().min(0.35)).sum::<f32>()) / 3.0;
                    }
                }
                sums.iter_mut().for_each(|s| *s /= rows.len() as f64);
                sums
            })
            .collect();
        Self { from, leans, strength }
    }

    /// The best pair of walls about a station's mark for each half width from the least sought.
    fn by_width(&self, mark: f64) -> Vec<Option<Walls>> {
        let reach = (ASTRAY / STEP) as i64;
        let centre = ((mark - self.from) / STEP) as i64;
        let n = self.strength[0].len() as i64;
        let (least, most) = ((HALVES.0 / STEP) as i64, (HALVES.1 / STEP) as i64);
        let mut best: Vec<Option<Walls>> = vec![None; (most - least + 1) as usize];
        for (lean, s) in self.leans.iter().zip(&self.strength) {
            // The wall's outer edge is sharp: take the strongest within a quarter millimetre.
            let peaks: Vec<f64> = (0..n)
                .map(|i| (i - 1..=i + 1).filter(|k| (0..n).contains(k)).map(|k| s[k as usize]).fold(0.0, f64::max))
                .collect();
            for c in centre - reach..=centre + reach {
                for h in least..=most {
                    let (l, r) = (c - h, c + h);
                    if l < 0 || r >= n {
                        continue;
                    }
                    let (a, b) = (peaks[l as usize], peaks[r as usize]);
                    // Both walls must be there; wider pairs win a tie, since inner glass edges lie inside outer ones.
                    let score = a.min(b) + 0.25 * a.max(b).min(2.0 * a.min(b)) + 0.0006 * h as f64;
                    let slot = &mut best[(h - least) as usize];
                    if slot.as_ref().is_none_or(|w| score > w.score) {
                        let x = self.from + c as f64 * STEP;
                        *slot = Some(Walls { x, lean: *lean, half: h as f64 * STEP, score });
                    }
                }
            }
        }
        best
    }
}

/// Surface, start of the calm below it and foot of the liquid along an axis, and how clearly the surface stands out.
fn column(view: &View, walls: &Walls) -> (f64, f64, f64, f64) {
    let step = 0.25;
    let (y0, y1) = (40.0, 108.0);
    let n = ((y1 - y0) / step) as usize;
    let axis = |y: f64| walls.x + walls.lean * (y - SHEAR_AT);
    let row: Vec<[f64; 3]> = (0..n)
        .map(|i| {
            let y = y0 + i as f64 * step;
            view.run([axis(y), y], 0.45 * walls.half)
        })
        .collect();
    // How dark the walls' lines are against the middle: strong in air, faint where liquid fills the glass.
    let line: Vec<f64> = (0..n)
        .map(|i| {
            let y = y0 + i as f64 * step;
            [-1.0, 1.0]
                .map(|side| {
                    let dark = (0..10)
                        .map(|k| {
                            let v = view.at([axis(y) + side * walls.half * (0.78 + 0.03 * k as f64), y]);
                            v.iter().map(|x| *x as f64).sum::<f64>() / 3.0
                        })
                        .fold(f64::MAX, f64::min);
                    (row[i].iter().sum::<f64>() / 3.0 - dark).clamp(0.0, 1.2)
                })
                .iter()
                .sum::<f64>()
                / 2.0
        })
        .collect();
    let at = |y: f64| (((y - y0) / step) as usize).min(n - 1);
    let mean = |a: f64, b: f64| -> [f64; 3] {
        let (i, j) = (at(a), at(b).max(at(a) + 1));
        [0, 1, 2].map(|c| row[i..j].iter().map(|r| r[c]).sum::<f64>() / (j - i) as f64)
    };
    let line_mean = |a: f64, b: f64| {
        let (i, j) = (at(a), at(b).max(at(a) + 1));
        line[i..j].iter().sum::<f64>() / (j - i) as f64
    };
    let score: Vec<f64> = (0..n)
        .map(|i| {
            let y = y0 + i as f64 * step;
            let (above, below) = (mean(y - 4.0, y - 1.2), mean(y + 1.2, y + 4.0));
            let jump: f64 = (0..3).map(|c| (below[c] - above[c]).abs().min(0.6)).sum::<f64>() / 3.0;
            let (a, b) = (row[at(y - 0.5)], row[at(y + 0.5)]);
            let sharp: f64 = (0..3).map(|c| (b[c] - a[c]).abs().min(0.4)).sum::<f64>() / 3.0;
            let lines = line_mean(y - 5.0, y - 0.8) - line_mean(y + 0.8, y + 5.0);
            jump + 0.6 * sharp + 0.8 * lines.max(0.0)
        })
        .collect();
    // From below: the lowest clear edge is the surface's near rim; the cap's edges and their reflections lie above it.
    let (low, high) = (at(58.0), at(SURFACE_TO));
    let clear = (0.45 * score[low..high].iter().copied().fold(0.0, f64::max)).max(0.3);
    let peak =
        |i: &usize| score[*i] >= clear && score[*i] >= score[i - 1].max(score[i - 2]) && score[*i] >= score[i + 1];
    let rim = (low..high).rev().find(peak).unwrap_or(at(75.0));
    let top = y0 + rim as f64 * step;
    let calm = (rim..n - 1).find(|i| score[*i] < 0.5 * score[rim].min(0.5)).unwrap_or(rim);
    let calm = (y0 + calm as f64 * step).min(top + 6.0);
    // The foot: the strongest step near the card's lower edge and below it.

    let mut foot = (0.0, top + 25.0);
    for i in at((top + 10.0).max(93.0))..at(107.0) {
        let y = y0 + i as f64 * step;
        let (above, below) = (mean(y - 2.5, y - 0.4), mean(y + 0.4, y + 2.0));
        let darker: f64 = (0..3).map(|c| (above[c] - below[c]).clamp(-0.6, 0.6)).sum::<f64>() / 3.0;
        if darker > foot.0 {
            foot = (darker, y);
        }
    }
    (top, calm, foot.1, score[rim])
}
