//! Setups with random damage: whatever is read is understood, the rest refused.

use super::*;

/// A cheap generator of numbers below `n`, the same in every run.
fn random(seed: &mut u64, n: usize) -> usize {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    ((*seed >> 33) % n.max(1) as u64) as usize
}

#[test]
fn mangled_setups_never_panic() {
    let good = with(
        "    diameter: 100 mm\n    mass: 2 kg # heavy\n    curve: {J: [0, 0.5], \"time [s]\": [0, 1]}\n    \
         from: {a: water}\n    outline: &o square\n    corner: 3e0 mm\n    load: 35 %\n    warm: 18 °C\n",
    );
    let pieces = [
        "{",
        "}",
        "[",
        "]",
        ":",
        "\n",
        " ",
        "-",
        "~",
        "&a",
        "*o",
        "!x",
        "\"",
        "'",
        "#",
        "|",
        ">",
        "%",
        "@",
        "<<: ",
        "? ",
        "0",
        "1e999",
        ".nan",
        "°",
        "\u{0}",
        "\u{feff}",
        "\t",
        "\r",
        "---",
        "...",
        "null",
        "part: pod",
        "💧",
        "−",
        "·",
    ];
    let mut seed = 1;
    let (mut read, mut refused) = (0, 0);
    for _ in 0..4000 {
        let mut text: Vec<char> = good.chars().collect();
        for _ in 0..=random(&mut seed, 3) {
            let at = random(&mut seed, text.len());
            match random(&mut seed, 4) {
                0 => _ = text.remove(at),
                1 => text.truncate(at.max(1)),
                2 => {
                    let other = random(&mut seed, text.len());
                    text.swap(at, other);
                }
                _ => _ = text.splice(at..at, pieces[random(&mut seed, pieces.len())].chars()),
            }
        }
        let text: String = text.into_iter().collect();
        match setup(&text).and_then(|s| s.write(KINDS).map(|written| (s, written))) {
            Ok((s, written)) => {
                read += 1;
                let again = setup(&written).unwrap_or_else(|e| panic!("{e}\n{text}\n{written}"));
                assert_eq!(pods(&again).unwrap(), pods(&s).unwrap(), "{text}\n{written}");
            }
            Err(error) => {
                refused += 1;
                assert!(!error.is_empty() && !error.render(true).is_empty());
            }
        }
    }
    // Both ways were taken often.
    assert!(read > 100 && refused > 1000, "{read} read, {refused} refused");
}
