/* Times everything that needs no interpreter, in turn within one process, and
 * prints what it found as lines of tab-separated fields for table.py:
 *
 *   horizon    time
 *   default    the engine's tolerance where nobody chooses another
 *   agreement  other solver, farthest apart from the reference
 *   state      one number of the reference end state, in order
 *   point      name, tolerance, error, evaluations, seconds, time / engine's time
 *
 * Times are processor time of the one thread that all of them run on, so that
 * what else the machine does disturbs little.
 *
 * Usage: peers ROUNDS */

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "peers.h"

#define MOST 32
/* Tolerances of the scan: 10^-2.5 to 10^-9 by quarters of a decade. */
#define TOLERANCES 27
#define TIGHT 1e-13

typedef struct {
    const Candidate *candidate;
    double tolerance, error;
    size_t evaluations;
    double *seconds, *ratios;
} Entry;

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *values, size_t n) {
    qsort(values, n, sizeof *values, by_size);
    return values[n / 2];
}

/* Farthest apart of the states, each against its usual size or its own, whichever is larger. */
static double apart(const double *y, const double *reference, size_t n) {
    double most = 0.0;
    for (size_t i = 0; i < n; i++) {
        double d = fabs(y[i] - reference[i]) / fmax(1.0, fabs(reference[i]));
        if (!(d <= most)) most = d;
    }
    return most;
}

static size_t run_engine(const Candidate *self, double tolerance, double *end) {
    (void)self;
    return flight_engine(tolerance, end);
}

static size_t run_fused(const Candidate *self, double tolerance, double *end) {
    (void)self;
    /* it has no other tolerance than the engine's default */
    return tolerance == flight_tolerance() ? flight_fused(end) : 0;
}

static size_t run_fast(const Candidate *self, double tolerance, double *end) {
    return flight_fast((size_t)self->kind, tolerance, end);
}

/* One run; its time goes to `seconds`. */
static size_t timed(const Candidate *c, double tolerance, double *end, double *seconds) {
    double begin = now();
    size_t evaluations = c->run(c, tolerance, end);
    *seconds = now() - begin;
    return evaluations;
}

int main(int argc, char **argv) {
    long rounds = argc > 1 ? strtol(argv[1], NULL, 10) : 0;
    if (rounds < 1 || rounds > 10000) {
        fprintf(stderr, "usage: peers ROUNDS (1 to 10000)\n");
        return 2;
    }
    Candidate list[MOST] = {
        {"engine", run_engine, NULL, 0},
        {"fused program", run_fused, NULL, 0},
        {"bare Rust Dormand-Prince 5(4)", run_fast, NULL, 0},
        {"bare Rust Tsitouras 5(4)", run_fast, NULL, 1},
        {"bare Rust Dormand-Prince 8(5,3)", run_fast, NULL, 2},
        {"bare Rust Cash-Karp 5(4)", run_fast, NULL, 3},
    };
    const Candidate *engine = &list[0], *eighth = &list[4];
    size_t count = 6 + sundials_candidates(list + 6, MOST - 6);
    const Candidate *adams = &list[6];
    size_t n = flight_size();
    double *reference = calloc(n, sizeof(double)), *end = calloc(n, sizeof(double));
    Entry *entries = calloc(count * (TOLERANCES + 1), sizeof *entries);
    if (reference == NULL || end == NULL || entries == NULL) return 2;

    printf("horizon\t%.17g\ndefault\t%.17g\n", flight_horizon(), flight_tolerance());
    if (eighth->run(eighth, TIGHT, reference) == 0) {
        fprintf(stderr, "peers: no reference\n");
        return 2;
    }
    /* another family, another implementation; and the engine itself */
    const Candidate *others[] = {adams, engine};
    for (size_t i = 0; i < 2; i++) {
        if (others[i]->run(others[i], TIGHT, end) == 0) {
            fprintf(stderr, "peers: %s does not reach the end at %g\n", others[i]->name, TIGHT);
            return 2;
        }
        printf("agreement\t%s\t%.3e\n", others[i]->name, apart(end, reference, n));
    }
    for (size_t i = 0; i < n; i++) printf("state\t%.17g\n", reference[i]);

    size_t filled = 0, tolerances = TOLERANCES;
    double seconds, of_engine, usual = flight_tolerance(), scan[TOLERANCES + 1];
    int among = 0;
    for (int k = 0; k < TOLERANCES; k++) {
        scan[k] = pow(10.0, -2.5 - 0.25 * k);
        /* the engine's default itself, not a power that rounds beside it */
        if (fabs(scan[k] / usual - 1.0) < 1e-9) {
            scan[k] = usual;
            among = 1;
        }
    }
    if (!among) scan[tolerances++] = usual;
    for (size_t c = 0; c < count; c++) {
        for (size_t k = 0; k < tolerances; k++) {
            Entry e = {&list[c], scan[k], 0.0, 0, NULL, NULL};
            e.evaluations = timed(e.candidate, e.tolerance, end, &seconds);
            e.error = apart(end, reference, n);
            /* gave up, or so far off that its time says nothing */
            if (e.evaluations == 0 || !(e.error < 1.0)) continue;
            e.seconds = calloc((size_t)rounds, sizeof(double));
            e.ratios = calloc((size_t)rounds, sizeof(double));
            if (e.seconds == NULL || e.ratios == NULL) return 2;
            entries[filled++] = e;
        }
    }
    /* the runs above have warmed everything up */
    for (long round = 0; round < rounds; round++) {
        for (size_t i = 0; i < filled; i++) {
            /* the engine has its turn beside each, so that drift meets both */
            timed(engine, usual, end, &of_engine);
            timed(entries[i].candidate, entries[i].tolerance, end, &seconds);
            entries[i].seconds[round] = seconds;
            entries[i].ratios[round] = seconds / of_engine;
        }
    }
    for (size_t i = 0; i < filled; i++) {
        Entry *e = &entries[i];
        printf("point\t%s\t%.17g\t%.6e\t%zu\t%.6e\t%.6f\n", e->candidate->name, e->tolerance, e->error,
               e->evaluations, median(e->seconds, (size_t)rounds), median(e->ratios, (size_t)rounds));
    }
    return 0;
}
