"""From the points that peers.c and scipy_peers.py found to a table at equal accuracy.

Usage: table.py [--all] FILE...

The error at the end scatters by a factor of ten from one tolerance to the next,
by chance: errors of opposite sign cancel in one and add up in another. What a
tolerance *usually* gives is therefore taken as the geometric mean over all
tolerances scanned within a decade on either side; where the scan does not
reach that far there is no usual error. The time, which hardly scatters, is
interpolated where the usual error passes that of the engine at its default.
"""

import math
import sys

# decades on either side
WINDOW = 1.0


class Point:
    def __init__(self, tolerance, error, evaluations, seconds, ratio):
        self.tolerance, self.error = float(tolerance), float(error)
        self.evaluations, self.seconds, self.ratio = int(evaluations), float(seconds), float(ratio)
        self.usual = None


def read(files):
    """Points by name in the order of first mention; agreements; horizon; the engine's default tolerance."""
    found, agreements, horizon, default = {}, [], None, None
    for file in files:
        with open(file, encoding="utf-8") as lines:
            for line in lines:
                kind, *rest = line.rstrip("\n").split("\t")
                if kind == "point":
                    found.setdefault(rest[0], []).append(Point(*rest[1:]))
                elif kind == "agreement":
                    agreements.append((rest[0], float(rest[1])))
                elif kind == "horizon":
                    horizon = float(rest[0])
                elif kind == "default":
                    default = float(rest[0])
    for points in found.values():
        points.sort(key=lambda p: -p.tolerance)
        for p in points:
            p.usual = usual_error(points, p)
    return found, agreements, horizon, default


def usual_error(points, at):
    off = [math.log10(p.tolerance / at.tolerance) for p in points]
    slack = 1e-6
    if min(off) > -WINDOW + slack or max(off) < WINDOW - slack:
        return None
    near = [p for p, d in zip(points, off) if abs(d) <= WINDOW + slack]
    return math.exp(sum(math.log(p.error) for p in near) / len(near))


def at_error(points, error):
    """Ratio of times, evaluations and tolerance where the usual error passes `error`."""
    known = [p for p in points if p.usual]
    for looser, tighter in zip(known, known[1:]):
        if looser.usual >= error >= tighter.usual:
            span = math.log(looser.usual / tighter.usual)
            share = math.log(looser.usual / error) / span if span > 0 else 0.0
            mix = lambda a, b: math.exp((1 - share) * math.log(a) + share * math.log(b))
            return (
                mix(looser.ratio, tighter.ratio),
                mix(looser.evaluations, tighter.evaluations),
                mix(looser.tolerance, tighter.tolerance),
            )
    return None


def all_points(found):
    print("name                                 tolerance  error      usual      evaluations  time/engine")
    for name, points in found.items():
        for p in points:
            usual = f"{p.usual:.1e}" if p.usual else "-"
            print(f"{name:<36} {p.tolerance:<10.2e} {p.error:<10.1e} {usual:<10} {p.evaluations:<12} {p.ratio:.3f}")
        print()


def goal(what, reached, wanted, met):
    print(f"  {what}: {reached:.2f}, wanted {wanted}: {'met' if met else 'NOT met'}")


def main(arguments):
    found, agreements, horizon, usual = read([a for a in arguments if a != "--all"])
    if "--all" in arguments:
        all_points(found)
    default = next(p for p in found["engine"] if p.tolerance == usual)
    print(f"One demo flight to {horizon:g} s, at the end as exact as the engine is at its default tolerance.")
    print(
        f"The engine: {1e3 * default.seconds:.2f} ms, {default.evaluations} evaluations, "
        f"error {default.error:.1e}, usual about that tolerance {default.usual:.1e}"
    )
    apart = ", ".join(f"{name} {apart:.1e}" for name, apart in agreements)
    print(f"Reference: bare Rust Dormand-Prince 8(5,3) at 1e-13; others at that tolerance are apart from it: {apart}")
    print()
    print("| | time ÷ engine's | evaluations | at tolerance |")
    print("|---|---|---|---|")
    rows = [("engine", 1.0, default.evaluations, usual)]
    fused = found["fused program"][0]
    # the same steps to the last digits, so the same error
    rows.append(("fused program", fused.ratio, fused.evaluations, fused.tolerance))
    out = []
    for name, points in found.items():
        if name in ("engine", "fused program"):
            continue
        row = at_error(points, default.usual)
        if row:
            rows.append((name, *row))
        else:
            out.append(name)
    for name, ratio, evaluations, tolerance in rows:
        print(f"| {name} | {ratio:.2f} | {evaluations:.0f} | {tolerance:.0e} |")
    for name in out:
        print(f"| {name} | not within the scan | | |")
    best = lambda kind: min((r for r in rows if r[0].startswith(kind)), key=lambda r: r[1], default=None)
    print("\nGoals:")
    goal("engine ÷ fused program", 1 / fused.ratio, "≤ 1.25", 1 / fused.ratio <= 1.25)
    for kinds, wanted in ((("CVODE", "ARKODE"), 1.5), (("scipy",), 10.0)):
        peers = [row for kind in kinds if (row := best(kind))]
        if peers:
            name, ratio, *_ = min(peers, key=lambda r: r[1])
            goal(f"{name} ÷ engine", ratio, f"≥ {wanted:g}", ratio >= wanted)
    if (bare := best("bare Rust")) is not None:
        print(f"  (the fastest bare solver in Rust, {bare[0]}, takes {bare[1]:.2f} of the engine's time)")


if __name__ == "__main__":
    main(sys.argv[1:])
