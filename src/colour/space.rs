//! The colour spaces, one type each.

/// Linear light with sRGB primaries and the D65 white: red, green, blue, 1 is the white. Not clipped: colours outside
/// the sRGB gamut have channels below 0 or above 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinRgb(pub [f64; 3]);

/// sRGB code values as fractions of full scale, after the transfer curve of IEC 61966-2-1. Not clipped.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Srgb(pub [f64; 3]);

/// CIE 1931 2° tristimulus values, the white's Y being 1. The white is D65 unless a [`super::Adaptation`] is at work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Xyz(pub [f64; 3]);

/// CIELAB for D65 and the 2° observer: L* (0 to 100), a*, b*.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lab(pub [f64; 3]);

impl Lab {
    /// Lightness L*.
    pub fn lightness(self) -> f64 {
        self.0[0]
    }

    /// Chroma C*ab, the distance from the grey axis.
    pub fn chroma(self) -> f64 {
        self.0[1].hypot(self.0[2])
    }

    /// Hue angle h_ab in degrees, 0 to 360; `None` on the grey axis.
    pub fn hue(self) -> Option<f64> {
        let [_, a, b] = self.0;
        (a != 0.0 || b != 0.0).then(|| b.atan2(a).to_degrees().rem_euclid(360.0))
    }
}

/// A white point as tristimulus values with Y = 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct White([f64; 3]);

impl White {
    /// CIE standard illuminant D65, 2° observer, in the four decimals of IEC 61966-2-1.
    pub const D65: White = White::from_xy(0.3127, 0.3290);
    /// CIE illuminant D50, 2° observer, in the four decimals of CIE 15.
    pub const D50: White = White::from_xy(0.3457, 0.3585);
    /// CIE standard illuminant A, 2° observer (CIE 15).
    pub const A: White = White::from_xy(0.44758, 0.40745);

    /// The white of chromaticity (x, y); `y` must not be 0.
    pub const fn from_xy(x: f64, y: f64) -> White {
        White([x / y, 1.0, (1.0 - x - y) / y])
    }

    /// Its tristimulus values.
    pub const fn xyz(self) -> Xyz {
        Xyz(self.0)
    }
}
