/* The flight, as the Rust library hands it out; states and rates are divided
 * by the usual sizes of the states (src/lib.rs). */
#ifndef PEERS_H
#define PEERS_H

#include <stddef.h>

size_t flight_size(void);
double flight_horizon(void);
double flight_tolerance(void);
size_t flight_moving(size_t *places);
void flight_start(double *y);
/* 0, or 1 where there is no value. */
int flight_rate(double t, const double *y, double *dy);
size_t flight_engine(double tolerance, double *end);
size_t flight_fused(double *end);
size_t flight_fast(size_t method, double tolerance, double *end);
size_t flight_method(size_t method, double *c, double *a, double *b, double *embedded);
/* Room that flight_method asks for, without that for `a`: this squared. */
#define FLIGHT_STAGES 13

/* A solver about to be timed: from time 0 to the horizon at this tolerance,
 * states there into `end`; returns evaluations, 0 where it gave up. */
typedef struct Candidate {
    const char *name;
    size_t (*run)(const struct Candidate *self, double tolerance, double *end);
    void *solver;
    /* which of its kind */
    int kind;
} Candidate;

/* The candidates from SUNDIALS; returns how many. Ends the program where one cannot be made. */
size_t sundials_candidates(Candidate *list, size_t room);

#endif
