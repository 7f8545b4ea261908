//! Ammonia from food, and what a filter must carry.

use super::nitrification::{NitrogenSource, nitrified};
use super::state::{StateError, positive, within};

/// mg NH₃-N a day from `food_g` grams of prepared food a day with this share of protein.
///
/// P = F·PC·0.092 (Timmons & Ebeling, Recirculating Aquaculture; seen cited). 0.092 = 0.16 g N per g protein · 0.80 taken up · 0.80
/// excreted · 0.90 as ammonia (factors from memory). For grown fish; good to about ±30 %, see [`FEED_SPREAD`].
///
/// ```
/// let n = tintline::water::ammonia_of_food(1.0, 0.45)?;
/// assert!((n - 41.4).abs() < 0.01);
/// # Ok::<(), tintline::water::StateError>(())
/// ```
pub fn ammonia_of_food(food_g: f64, protein: f64) -> Result<f64, StateError> {
    within("a share of protein of", "", protein, 0.0, 1.0)?;
    if food_g == 0.0 {
        return Ok(0.0);
    }
    Ok(positive("grams of food", food_g)? * protein * 0.092 * 1000.0)
}

/// By how much a figure from food may be off either way.
pub const FEED_SPREAD: f64 = 0.3;

/// Grams of food a day whose ammonia is `mg_n` a day.
pub fn food_of_ammonia(mg_n: f64, protein: f64) -> Result<f64, StateError> {
    Ok(mg_n / ammonia_of_food(1.0, positive("a share of protein", protein)?)?)
}

/// What `mg_n` a day brings in a tank of `litres`: mg/L NH₃-N a day, and mg/L NO₃⁻ a week once the filter works.
pub fn rise(mg_n: f64, litres: f64) -> Result<(f64, f64), StateError> {
    let daily = mg_n / positive("litres of water", litres)?;
    Ok((daily, 7.0 * nitrified(daily, NitrogenSource::Food).nitrate))
}

/// Square metres of filter surface for `mg_n` a day at a rate of `g_m2_day` grams NH₃-N per square metre and day. Rates: 0.2–1.0
/// at 15–20 °C, 1–2 at 25–30 °C (Timmons & Ebeling, from memory); near zero ammonia the real rate is far lower (Malone & Pfeiffer
/// 2006, Aquacult. Eng. 34:389).
pub fn filter_area(mg_n: f64, g_m2_day: f64) -> Result<f64, StateError> {
    Ok(mg_n / 1000.0 / positive("a rate", g_m2_day)?)
}
