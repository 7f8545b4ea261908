//! Embedded colour profiles (ICC.1): from the profile's bytes to linear light with sRGB primaries.
//!
//! moxcms parses the profile. Matrix profiles become one table a channel and a matrix; profiles
//! made of tables become a grid (see `lut`). Both follow the relative colorimetric intent: paper white stays as it is.
//!
//! A profile that cannot be read or used is an error: read as sRGB the colours would be wrong without a word.

use super::curve::Curve;
use super::linear::{Depth, Then, ToLinear};
use super::{PhotoError, lut, spaces};
use moxcms::{ColorProfile, DataColorSpace, ProfileClass, ProfileText, ToneReprCurve};
use nalgebra::Matrix3;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// A profile ready for use.
pub(super) struct Profile {
    pub(super) to_linear: ToLinear,
    /// Its description, if it has one.
    pub(super) name: Option<String>,
}

/// Reads a profile for a picture in red, green and blue.
pub(super) fn read(format: &'static str, bytes: &[u8], depth: Depth) -> Result<Profile, PhotoError> {
    // Profiles come from anywhere; the parser checks much, but a profile is not worth a crash.
    catch_unwind(AssertUnwindSafe(|| build(format, bytes, depth)))
        .unwrap_or_else(|_| Err(broken(format, "its tables make no sense")))
}

fn broken(format: &'static str, cause: impl Into<String>) -> PhotoError {
    PhotoError::ProfileBroken { format, cause: cause.into() }
}

fn build(format: &'static str, bytes: &[u8], depth: Depth) -> Result<Profile, PhotoError> {
    if bytes.get(36..40) != Some(b"acsp") {
        return Err(broken(format, "it does not begin as a profile does"));
    }
    let profile = ColorProfile::new_from_slice(bytes).map_err(|e| broken(format, e.to_string()))?;
    match profile.color_space {
        DataColorSpace::Rgb => {}
        DataColorSpace::Gray => return Err(PhotoError::ProfileForeign { format, space: "grey pictures" }),
        DataColorSpace::Cmyk => return Err(PhotoError::ProfileForeign { format, space: "printing inks (CMYK)" }),
        _ => return Err(PhotoError::ProfileForeign { format, space: "another colour space" }),
    }
    if matches!(profile.profile_class, ProfileClass::DeviceLink | ProfileClass::Abstract | ProfileClass::Named) {
        return Err(PhotoError::ProfileForeign { format, space: "a conversion, not for a picture" });
    }
    let table = profile.lut_a_to_b_colorimetric.as_ref();
    let table = table.or(profile.lut_a_to_b_perceptual.as_ref()).or(profile.lut_a_to_b_saturation.as_ref());
    let to_linear = match table {
        Some(table) => lut::to_linear(table, profile.pcs, depth),
        None => matrix(&profile, depth),
    }
    .map_err(|cause| broken(format, cause))?;
    let finite = [0, depth.top() / 2, depth.top()].iter().all(|&v| to_linear.at(v, v, v).iter().all(|x| x.is_finite()));
    if !finite {
        return Err(broken(format, "its numbers run off to infinity"));
    }
    Ok(Profile { to_linear, name: profile.description.as_ref().and_then(name) })
}

/// Curve a channel, then the colorants (ICC.1 annex F.3).
fn matrix(profile: &ColorProfile, depth: Depth) -> Result<ToLinear, String> {
    if profile.pcs != DataColorSpace::Xyz || !profile.is_matrix_shaper() {
        return Err("it has neither colorants with curves nor tables".into());
    }
    let curve = |c: &Option<ToneReprCurve>| -> Result<Vec<f32>, String> {
        let curve = Curve::new(c.as_ref().ok_or("a curve is missing")?)?;
        Ok(depth.table(|v| curve.at(v)))
    };
    let curves = [curve(&profile.red_trc)?, curve(&profile.green_trc)?, curve(&profile.blue_trc)?];
    if !curves.iter().flatten().all(|v| v.is_finite()) {
        return Err("one of its curves runs off to infinity".into());
    }
    let c = [profile.red_colorant, profile.green_colorant, profile.blue_colorant];
    let to_pcs = Matrix3::from_columns(&c.map(|c| nalgebra::Vector3::new(c.x, c.y, c.z)));
    // The colorants add up to the connection space's white; a profile far from that is damaged.
    let white = spaces::pcs_to_srgb() * to_pcs * nalgebra::Vector3::repeat(1.0);
    if !white.iter().all(|v| (0.8..1.25).contains(v)) {
        return Err("its colorants do not add up to white".into());
    }
    Ok(ToLinear { curves, then: Then::Matrix(spaces::rows(spaces::pcs_to_srgb() * to_pcs)) })
}

fn name(text: &ProfileText) -> Option<String> {
    let text = match text {
        ProfileText::PlainString(s) => s,
        ProfileText::Localizable(all) => &all.iter().find(|l| l.language == "en").or(all.first())?.value,
        ProfileText::Description(d) if d.ascii_string.is_empty() => &d.unicode_string,
        ProfileText::Description(d) => &d.ascii_string,
    };
    let plain: String = text.chars().filter(|c| !c.is_control()).take(80).collect();
    Some(plain.trim().to_string()).filter(|s| !s.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_matrix_profile_is_read_unclipped() {
        let p = read("jpeg", &ColorProfile::new_display_p3().encode().unwrap(), Depth::Eight).unwrap();
        assert_eq!(p.name.as_deref(), Some("Display P3"));
        let red = p.to_linear.at(255, 0, 0);
        // From the primaries; the profile made here takes its white from a daylight formula, a few parts in 10 000 away.
        for (got, want) in red.iter().zip([1.22494, -0.04206, -0.01964]) {
            assert!((got - want).abs() < 5e-4, "{red:?}");
        }
    }

    #[test]
    fn sixteen_bits_agree_with_eight() {
        let bytes = ColorProfile::new_display_p3().encode().unwrap();
        let (a, b) = (read("png", &bytes, Depth::Eight).unwrap(), read("png", &bytes, Depth::Sixteen).unwrap());
        for c in [[0, 0, 0], [12, 200, 77], [255, 1, 128]] {
            let (x, y) = (a.to_linear.at(c[0], c[1], c[2]), b.to_linear.at(c[0] * 257, c[1] * 257, c[2] * 257));
            assert!((0..3).all(|i| (x[i] - y[i]).abs() < 1e-6), "{x:?} {y:?}");
        }
    }

    #[test]
    fn profiles_for_other_pictures_are_refused() {
        let code = |p: ColorProfile| read("png", &p.encode().unwrap(), Depth::Eight).err().map(|e| e.code());
        assert_eq!(code(ColorProfile::new_gray_with_gamma(2.2)), Some("photo-profile-foreign"));
        assert_eq!(read("png", b"no profile at all", Depth::Eight).err().unwrap().code(), "photo-profile-broken");
        let mut dark = ColorProfile::new_srgb();
        dark.green_colorant = moxcms::Xyzd { x: 0.01, y: 0.02, z: 0.0 };
        assert_eq!(code(dark), Some("photo-profile-broken"));
    }

    #[test]
    fn a_damaged_profile_never_panics_and_a_cut_one_is_refused() {
        let good = ColorProfile::new_display_p3().encode().unwrap();
        for cut in 0..good.len() {
            // The tags lie one behind the other; what is left may still hold all that is needed only near the end.
            let r = read("jpeg", &good[..cut], Depth::Eight);
            assert!(r.is_err() || cut > good.len() * 3 / 4, "cut at {cut} of {}", good.len());
        }
        let mut state = 1u32;
        for _ in 0..2000 {
            let mut bad = good.clone();
            for _ in 0..4 {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let at = state as usize % bad.len();
                bad[at] = (state >> 24) as u8;
            }
            if let Ok(p) = read("jpeg", &bad, Depth::Eight) {
                assert!(p.to_linear.at(128, 128, 128).iter().all(|v| v.is_finite()));
            }
        }
    }
}
