//! Chromatic adaptation: the colour that looks under one white as another did under its own.
//!
//! The `palette` crate carries Bradford with an inverse rounded to seven decimals, and no CAT16; so both are here.

use super::{Matrix, White, Xyz, apply, inverse, product};

/// Which sharpened cone space the scaling happens in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Bradford, as used by ICC profiles (ICC.1, Annex E).
    Bradford,
    /// CAT16 with complete adaptation (Li et al., Color Res. Appl. 42, 703-718, 2017).
    Cat16,
}

impl Method {
    const fn cones(self) -> Matrix {
        match self {
            Method::Bradford => [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]],
            Method::Cat16 => {
                [[0.401288, 0.650173, -0.051461], [-0.250268, 1.204414, 0.045854], [-0.002079, 0.048952, 0.953127]]
            }
        }
    }
}

/// The map from one white to another, complete adaptation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adaptation {
    matrix: Matrix,
}

impl Adaptation {
    /// From colours under `from` to colours under `to`.
    pub fn new(method: Method, from: White, to: White) -> Self {
        let cones = method.cones();
        let (seen, wanted) = (apply(&cones, from.xyz().0), apply(&cones, to.xyz().0));
        let mut scaled = cones;
        for i in 0..3 {
            scaled[i] = scaled[i].map(|v| v * wanted[i] / seen[i]);
        }
        Self { matrix: product(&inverse(&cones), &scaled) }
    }

    /// The corresponding colour under the other white.
    pub fn apply(&self, colour: Xyz) -> Xyz {
        Xyz(apply(&self.matrix, colour.0))
    }

    /// Its 3 × 3 matrix on XYZ.
    pub fn matrix(&self) -> Matrix {
        self.matrix
    }
}
