//! Leaves parts of the way from pixels to an amount out, to show what each of them buys (`--ablation` of the accuracy report).
//!
//! A leaf, and a switch for developers alone: it can be set only with the feature `ablation`, which no build for keepers has. Without
//! the feature `without` is a constant, and nothing can be left out.

macro_rules! parts {
    ($($name:ident $text:literal;)*) => {
        /// What can be left out.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Part { $(#[doc = $text] $name,)* }

        impl Part {
            /// All parts, along the way.
            pub const ALL: &'static [Part] = &[$(Part::$name,)*];

            /// What is done instead.
            pub fn text(self) -> &'static str {
                match self { $(Part::$name => $text,)* }
            }
        }
    };
}

parts! {
    EvenLight "paper's light taken as the same all over the card";
    Tone "no tone curve: the profile's light as it is";
    Root "a matrix only, never the root polynomial";
    Matrix "no colour correction at all";
    Region "the whole column of liquid, nearly from wall to wall";
    Reflections "columns in a lamp's reflection not left out";
    Residual "left-out patches not counted into the interval";
    Brightness "brightness as if it were the same in every photo";
    Way "the way through the liquid as if it were always the same";
    Lights "no difference of the way between the kit's lights";
    Scatter "standards as if they had no scatter of their own";
    Made "standards and samples as if made exactly";
    Ends "as much expected beyond the series as within";
    Neighbours "coloured vials beside a sample not looked at";
}

#[cfg(feature = "ablation")]
mod switch {
    use std::sync::atomic::{AtomicU32, Ordering};

    static OUT: AtomicU32 = AtomicU32::new(0);

    /// Leaves these out from now on, and nothing else.
    pub fn leave_out(parts: &[super::Part]) {
        OUT.store(parts.iter().map(|p| 1 << (*p as u32)).sum(), Ordering::Relaxed);
    }

    /// Whether a part is left out.
    pub fn without(part: super::Part) -> bool {
        OUT.load(Ordering::Relaxed) & (1 << (part as u32)) != 0
    }
}

#[cfg(feature = "ablation")]
pub use switch::{leave_out, without};

/// Whether a part is left out.
#[cfg(not(feature = "ablation"))]
#[inline]
pub(crate) const fn without(_: Part) -> bool {
    false
}
