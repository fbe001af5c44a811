//! Skin friction of a smooth flat plate.

/// ITTC 1957 model–ship correlation line, C_F = 0.075 / (log10 Re − 2)².
/// It holds some 12 % form effect already. Not defined at Re ≤ 100.
///
/// # Source
/// 8th ITTC (Madrid 1957).
pub fn c_f_ittc57(re: f64) -> f64 {
    let x = re.log10() - 2.0;
    0.075 / (x * x)
}
