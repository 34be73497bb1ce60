//! Copper channels that are not the plain 90 + 10 m: long cords, heat, delay.

/// Most metres of cord, both ends together, beside `fixed` metres of fixed cable, when cords lose
/// `extra` more per metre than fixed cable (0.2 for 24 AWG, 0.5 for 26 AWG).
///
/// **Source**: TIA-568-C.1 open office rule C = (102 - H)/(1 + D); the constant 102 from memory.
pub fn cords(fixed: f64, extra: f64) -> f64 {
    ((102.0 - fixed) / (1.0 + extra)).max(0.0)
}

/// Most metres of cord at the work end when `rack` metres of the cords are used at the rack.
///
/// **Source**: as [`cords`].
pub fn work_end_cord(fixed: f64, extra: f64, rack: f64) -> f64 {
    (cords(fixed, extra) - rack).max(0.0)
}

/// Most metres of unscreened fixed cable at a temperature: 90 m at 20 degrees Celsius and below, loss growing
/// 0.4 % per degree to 40 and 0.6 % per degree to 60. `None` above 60 degrees.
///
/// **Source**: TIA-568-C.2 annex, from memory.
pub fn fixed_at_temperature(celsius: f64) -> Option<f64> {
    if celsius > 60.0 {
        return None;
    }
    let warm = (celsius.min(40.0) - 20.0).max(0.0) * 0.004;
    let hot = (celsius - 40.0).max(0.0) * 0.006;
    Some(90.0 / (1.0 + warm + hot))
}

/// Longest propagation delay of 100 m, nanoseconds, at a frequency in megahertz.
///
/// **Source**: TIA-568: 534 + 36/sqrt(f) (read second-hand).
pub fn delay_of_100_metres(megahertz: f64) -> f64 {
    534.0 + 36.0 / megahertz.sqrt()
}
