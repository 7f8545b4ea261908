//! Profiles made of tables (ICC.1 lut8Type, lut16Type, lutAToBType): evaluated exactly at the nodes of a grid, which is
//! then interpolated at the pixel.
//!
//! The grid's nodes are those of the profile's own table, or lie between them, so that interpolation in tetrahedra gives
//! what the profile gives; only curves that follow the table and are not straight are approximated, on at least 65 nodes
//! an axis. (moxcms's own transform for such profiles goes over 33 nodes with 8-bit weights, which a 16-bit picture and
//! its dark colours would feel.)

use super::curve::Curve;
use super::linear::{Depth, Grid, Then, ToLinear};
use super::spaces;
use moxcms::{DataColorSpace, LutDataType, LutMultidimensionalType, LutStore, LutType, LutWarehouse, ToneReprCurve};
use nalgebra::{Matrix3, Vector3};

/// Nodes an axis where curves behind the table bend.
const FINE: usize = 65;

/// The way to linear light through a device-to-connection table.
pub(super) fn to_linear(table: &LutWarehouse, pcs: DataColorSpace, depth: Depth) -> Result<ToLinear, String> {
    let pipe = match table {
        LutWarehouse::Lut(lut) => Pipe::from_tables(lut, pcs),
        LutWarehouse::Multidimensional(mab) => Pipe::from_elements(mab, pcs),
    }?;
    let side = pipe.side();
    let last = (side - 1) as f64;
    let step = |i: usize| i as f64 / last;
    let mut nodes = Vec::with_capacity(side.pow(3));
    for r in 0..side {
        for g in 0..side {
            for b in 0..side {
                nodes.push(pipe.after_curves([step(r), step(g), step(b)]).map(|v| v as f32));
            }
        }
    }
    if !nodes.iter().flatten().all(|v| v.is_finite()) {
        return Err("its table runs off to infinity".into());
    }
    let curves = [0, 1, 2].map(|c| depth.table(|v| pipe.before[c].at(v).clamp(0.0, 1.0) * last));
    Ok(ToLinear { curves, then: Then::Grid(Grid::new(side, nodes, pcs == DataColorSpace::Lab)) })
}

fn straight() -> [Curve; 3] {
    [Curve::Straight, Curve::Straight, Curve::Straight]
}

/// How numbers of 0 to 1 stand for the connection space.
enum Encoding {
    Lab,
    /// The older 16-bit form of CIELAB, in which 0xFF00 is full scale; lut16Type has it in profiles of any version.
    LabLegacy,
    /// With the matrix to linear sRGB.
    Xyz(Matrix3<f64>),
}

struct Table {
    /// Nodes along each axis.
    sides: [usize; 3],
    /// Third channel fastest, three values a node.
    values: Vec<f64>,
}

struct Pipe {
    before: [Curve; 3],
    table: Option<Table>,
    middle: Option<([Curve; 3], Matrix3<f64>, Vector3<f64>)>,
    after: [Curve; 3],
    encoding: Encoding,
}

impl Pipe {
    fn from_tables(lut: &LutDataType, pcs: DataColorSpace) -> Result<Self, String> {
        if lut.num_input_channels != 3 || lut.num_output_channels != 3 {
            return Err("its table is not for three channels".into());
        }
        let curves = |store, n: u16| -> Result<[Curve; 3], String> {
            let all = numbers(store);
            let n = usize::from(n);
            if n < 2 || all.len() < 3 * n {
                return Err("a curve of its table is too short".into());
            }
            Ok([0, 1, 2].map(|c| Curve::table(all[c * n..(c + 1) * n].to_vec())))
        };
        let side = usize::from(lut.num_clut_grid_points);
        Ok(Self {
            before: curves(&lut.input_table, lut.num_input_table_entries)?,
            table: Some(Table::new([side; 3], numbers(&lut.clut_table))?),
            middle: None,
            after: curves(&lut.output_table, lut.num_output_table_entries)?,
            encoding: encoding(pcs, lut.lut_type == LutType::Lut16)?,
        })
    }

    fn from_elements(mab: &LutMultidimensionalType, pcs: DataColorSpace) -> Result<Self, String> {
        if mab.num_input_channels != 3 || mab.num_output_channels != 3 {
            return Err("its table is not for three channels".into());
        }
        let curves = |c: &[ToneReprCurve]| -> Result<[Curve; 3], String> {
            match c {
                [] => Ok(straight()),
                [a, b, c] => Ok([Curve::new(a)?, Curve::new(b)?, Curve::new(c)?]),
                _ => Err("its table has the wrong number of curves".into()),
            }
        };
        let matrix = Matrix3::from_fn(|i, j| mab.matrix.v[i][j]);
        let bias = Vector3::from_fn(|i, _| mab.bias.v[i]);
        let (mut before, mut mid) = (curves(&mab.a_curves)?, curves(&mab.m_curves)?);
        let table = match &mab.clut {
            Some(clut) => Some(Table::new([0, 1, 2].map(|i| mab.grid_points[i].into()), numbers(clut))?),
            None => {
                // Without a table the middle curves are the channels' own and can be taken exactly.
                before = std::mem::replace(&mut mid, straight());
                None
            }
        };
        let middle = (!mab.m_curves.is_empty()).then_some((mid, matrix, bias));
        Ok(Self { before, table, middle, after: curves(&mab.b_curves)?, encoding: encoding(pcs, false)? })
    }

    /// From the curved channels to CIELAB D50 or linear sRGB.
    fn after_curves(&self, channels: [f64; 3]) -> [f64; 3] {
        let mut v = self.table.as_ref().map_or(channels, |t| t.at(channels));
        if let Some((curves, matrix, bias)) = &self.middle {
            v = (matrix * Vector3::from([0, 1, 2].map(|i| curves[i].at(v[i]))) + bias).into();
        }
        let v = [0, 1, 2].map(|i| self.after[i].at(v[i]));
        let lab = |[l, a, b]: [f64; 3]| [100.0 * l, 255.0 * a - 128.0, 255.0 * b - 128.0];
        match &self.encoding {
            Encoding::Lab => lab(v),
            Encoding::LabLegacy => lab(v.map(|x| x * (65535.0 / 65280.0))),
            Encoding::Xyz(to_srgb) => (to_srgb * Vector3::from(v.map(|x| x * (65535.0 / 32768.0)))).into(),
        }
    }

    /// Nodes an axis for the grid.
    fn side(&self) -> usize {
        let own = self.table.as_ref().map_or(2, |t| t.sides.into_iter().max().unwrap_or(2));
        let bends = |c: &[Curve; 3]| c.iter().any(|c| !c.is_straight());
        let uneven = self.table.as_ref().is_some_and(|t| t.sides.iter().any(|&s| s != own));
        let fine = bends(&self.after) || self.middle.as_ref().is_some_and(|m| bends(&m.0)) || uneven;
        if fine { (own - 1) * (FINE - 1).div_ceil(own - 1) + 1 } else { own }
    }
}

fn encoding(pcs: DataColorSpace, sixteen: bool) -> Result<Encoding, String> {
    match (pcs, sixteen) {
        (DataColorSpace::Lab, true) => Ok(Encoding::LabLegacy),
        (DataColorSpace::Lab, false) => Ok(Encoding::Lab),
        (DataColorSpace::Xyz, _) => Ok(Encoding::Xyz(spaces::pcs_to_srgb())),
        _ => Err("its connection space is neither XYZ nor CIELAB".into()),
    }
}

fn numbers(store: &LutStore) -> Vec<f64> {
    match store {
        LutStore::Store8(v) => v.iter().map(|&x| f64::from(x) / 255.0).collect(),
        LutStore::Store16(v) => v.iter().map(|&x| f64::from(x) / 65535.0).collect(),
    }
}

impl Table {
    fn new(sides: [usize; 3], values: Vec<f64>) -> Result<Self, String> {
        if sides.iter().any(|&s| s < 2) || values.len() != sides.iter().product::<usize>() * 3 {
            return Err("its table has another size than it says".into());
        }
        Ok(Self { sides, values })
    }

    /// Interpolates in tetrahedra.
    fn at(&self, v: [f64; 3]) -> [f64; 3] {
        let [_, sg, sb] = self.sides;
        let step = [sg * sb, sb, 1];
        let place = [0, 1, 2].map(|i| v[i].clamp(0.0, 1.0) * (self.sides[i] - 1) as f64);
        let low = [0, 1, 2].map(|i| (place[i] as usize).min(self.sides[i] - 2));
        let frac = [0, 1, 2].map(|i| place[i] - low[i] as f64);
        let mut order = [0, 1, 2];
        order.sort_by(|&a, &b| frac[b].total_cmp(&frac[a]));
        let mut at = (0..3).map(|i| low[i] * step[i]).sum::<usize>();
        let node = |at: usize| [self.values[at * 3], self.values[at * 3 + 1], self.values[at * 3 + 2]];
        let mut out = node(at);
        for axis in order {
            let here = node(at);
            at += step[axis];
            let next = node(at);
            (0..3).for_each(|i| out[i] += frac[axis] * (next[i] - here[i]));
        }
        out
    }
}
