"""The flight integrated by scipy, timed beside the engine in one process.

Usage: scipy_peers.py LIBRARY ROUNDS < lines of peers.c
Prints lines of the same kind as peers.c: point, name, tolerance, error,
evaluations, seconds, time / engine's time.
"""

import ctypes
import statistics
import sys
import time
import warnings

import numpy
from scipy.integrate import ode, odeint, solve_ivp

# as the engine begins
FIRST_STEP = 2e-3
MAX_STEPS = 1_000_000
# a run takes tens of times longer than one of peers.c: halves of a decade, from 10^-2.5 to 10^-9
TOLERANCES = [10.0 ** (-2.5 - 0.5 * k) for k in range(14)]


class Flight:
    """The library's functions, with buffers made once."""

    def __init__(self, path):
        self.library = library = ctypes.CDLL(path)
        library.flight_size.restype = ctypes.c_size_t
        library.flight_horizon.restype = library.flight_tolerance.restype = ctypes.c_double
        library.flight_engine.restype = ctypes.c_size_t
        library.flight_engine.argtypes = [ctypes.c_double, ctypes.c_void_p]
        library.flight_start.argtypes = [ctypes.c_void_p]
        self.size = library.flight_size()
        self.horizon = library.flight_horizon()
        self.tolerance = library.flight_tolerance()
        self.start, self.end, at, rates = (numpy.zeros(self.size) for _ in range(4))
        library.flight_start(self.start.ctypes.data)
        self.evaluations = 0
        rate = library.flight_rate
        rate.restype, rate.argtypes = ctypes.c_int, [ctypes.c_double, ctypes.c_void_p, ctypes.c_void_p]
        # addresses of buffers that stay: asking an array for its address costs as much as the call
        at_address, rates_address = at.ctypes.data, rates.ctypes.data

        def rates_at(t, y):
            self.evaluations += 1
            at[:] = y
            if rate(t, at_address, rates_address):
                rates.fill(numpy.nan)
            # solvers keep what they get
            return rates.copy()

        self.rates = rates_at

    def engine(self, tolerance):
        evaluations = self.library.flight_engine(tolerance, self.end.ctypes.data)
        return evaluations, self.end

    def by_solve_ivp(self, method):
        def run(tolerance):
            self.evaluations = 0
            found = solve_ivp(
                self.rates, (0.0, self.horizon), self.start, method=method,
                rtol=tolerance, atol=tolerance, first_step=FIRST_STEP,
            )
            return (self.evaluations if found.success else 0), found.y[:, -1]

        return run

    def by_odeint(self, tolerance):
        self.evaluations = 0
        found, told = odeint(
            self.rates, self.start, [0.0, self.horizon], rtol=tolerance, atol=tolerance,
            h0=FIRST_STEP, mxstep=MAX_STEPS, tfirst=True, full_output=True,
        )
        done = told["message"] == "Integration successful."
        return (self.evaluations if done else 0), found[-1]

    def by_ode(self, name, **more):
        def run(tolerance):
            self.evaluations = 0
            solver = ode(self.rates).set_integrator(
                name, rtol=tolerance, atol=tolerance, first_step=FIRST_STEP, nsteps=MAX_STEPS, **more
            )
            solver.set_initial_value(self.start, 0.0)
            end = solver.integrate(self.horizon)
            return (self.evaluations if solver.successful() else 0), end

        return run


def timed(run, tolerance):
    # processor time of this thread, as in peers.c
    begin = time.thread_time()
    evaluations, end = run(tolerance)
    return time.thread_time() - begin, evaluations, end


def main(path, rounds):
    flight = Flight(path)
    fields = (line.rstrip("\n").split("\t") for line in sys.stdin)
    reference = numpy.array([float(rest[0]) for kind, *rest in fields if kind == "state"])
    assert len(reference) == flight.size, f"{len(reference)} reference states, {flight.size} wanted"
    scale = numpy.maximum(1.0, abs(reference))
    candidates = {f"scipy solve_ivp {m}": flight.by_solve_ivp(m) for m in ("RK45", "DOP853", "LSODA")}
    candidates["scipy odeint"] = flight.by_odeint
    candidates["scipy ode dopri5"] = flight.by_ode("dopri5")
    candidates["scipy ode dop853"] = flight.by_ode("dop853")
    candidates["scipy ode vode adams"] = flight.by_ode("vode", method="adams")

    entries = []
    for name, run in candidates.items():
        for tolerance in TOLERANCES:
            with warnings.catch_warnings():
                # a solver that gives up says so here and in what it returns
                warnings.simplefilter("ignore")
                _, evaluations, end = timed(run, tolerance)
            error = float((abs(end - reference) / scale).max())
            if evaluations and error < 1.0:
                entries.append((name, run, tolerance, error, evaluations, [], []))
    for _ in range(rounds):
        for _, run, tolerance, _, _, seconds, ratios in entries:
            of_engine = timed(flight.engine, flight.tolerance)[0]
            taken = timed(run, tolerance)[0]
            seconds.append(taken)
            ratios.append(taken / of_engine)
    for name, _, tolerance, error, evaluations, seconds, ratios in entries:
        times = f"{statistics.median(seconds):.6e}\t{statistics.median(ratios):.6f}"
        print(f"point\t{name}\t{tolerance!r}\t{error:.6e}\t{evaluations}\t{times}")


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
