/* The flight integrated by SUNDIALS: CVODES (which holds the integrators of
 * CVODE, and quadratures besides) and the explicit methods of ARKODE.
 *
 * Memory is made once, before any timing; a run sets it back to the start. All
 * begin with the engine's first step and are held to stop at the horizon. */

#include <arkode/arkode_erkstep.h>
#include <cvodes/cvodes.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdio.h>
#include <stdlib.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#include "peers.h"

#define FIRST_STEP 2e-3
#define MAX_STEPS 1000000

static SUNContext context;
static long evaluations;

/* Which states a solver takes as such and which as quadratures. */
typedef struct {
    void *memory;
    N_Vector y, start, quads, quads_start;
    /* places among all states; `states` is NULL where they are all taken as they come */
    size_t *states, *integrals;
    size_t n, m;
    /* all states and rates, to gather from */
    double *all, *rates;
} Solver;

static void *must(void *made, const char *what) {
    if (made == NULL) {
        fprintf(stderr, "peers: SUNDIALS makes no %s\n", what);
        exit(2);
    }
    return made;
}

static void fine(int flag, const char *what) {
    if (flag < 0) {
        fprintf(stderr, "peers: SUNDIALS answers %d to %s\n", flag, what);
        exit(2);
    }
}

static int rates_of_all(realtype t, N_Vector y, N_Vector dy, void *data) {
    (void)data;
    evaluations++;
    /* 1 is a failure from which SUNDIALS recovers with a shorter step */
    return flight_rate(t, NV_DATA_S(y), NV_DATA_S(dy));
}

/* Running integrals feed nothing back: what stands in their places does not matter. */
static int evaluate(double t, N_Vector y, Solver *s) {
    const double *moving = NV_DATA_S(y);
    for (size_t i = 0; i < s->n; i++) s->all[s->states[i]] = moving[i];
    evaluations++;
    return flight_rate(t, s->all, s->rates);
}

static int rates_of_moving(realtype t, N_Vector y, N_Vector dy, void *data) {
    Solver *s = data;
    int failed = evaluate(t, y, s);
    for (size_t i = 0; i < s->n; i++) NV_Ith_S(dy, i) = s->rates[s->states[i]];
    return failed;
}

static int rates_of_integrals(realtype t, N_Vector y, N_Vector dq, void *data) {
    Solver *s = data;
    int failed = evaluate(t, y, s);
    for (size_t i = 0; i < s->m; i++) NV_Ith_S(dq, i) = s->rates[s->integrals[i]];
    return failed;
}

/* A solver of all states, or with the running integrals set apart. */
static Solver *solver(int apart) {
    Solver *s = must(calloc(1, sizeof *s), "solver");
    size_t size = flight_size();
    s->all = must(calloc(size, sizeof(double)), "states");
    s->rates = must(calloc(size, sizeof(double)), "rates");
    s->n = size;
    if (apart) {
        s->states = must(calloc(size, sizeof(size_t)), "places");
        s->integrals = must(calloc(size, sizeof(size_t)), "places");
        s->n = flight_moving(s->states);
        for (size_t i = 0, k = 0; i < size; i++) {
            if (k < s->n && s->states[k] == i) k++;
            else s->integrals[s->m++] = i;
        }
    }
    flight_start(s->all);
    s->y = must(N_VNew_Serial((sunindextype)s->n, context), "vector");
    s->start = must(N_VClone(s->y), "vector");
    for (size_t i = 0; i < s->n; i++) NV_Ith_S(s->start, i) = s->all[apart ? s->states[i] : i];
    N_VScale(1.0, s->start, s->y);
    if (apart) {
        s->quads = must(N_VNew_Serial((sunindextype)s->m, context), "vector");
        s->quads_start = must(N_VClone(s->quads), "vector");
        for (size_t i = 0; i < s->m; i++) NV_Ith_S(s->quads_start, i) = s->all[s->integrals[i]];
        N_VScale(1.0, s->quads_start, s->quads);
    }
    return s;
}

static Solver *cvodes(int method, int apart) {
    Solver *s = solver(apart);
    s->memory = must(CVodeCreate(method, context), "CVODES");
    fine(CVodeInit(s->memory, apart ? rates_of_moving : rates_of_all, 0.0, s->y), "CVodeInit");
    fine(CVodeSetUserData(s->memory, s), "CVodeSetUserData");
    fine(CVodeSStolerances(s->memory, 1e-6, 1e-6), "CVodeSStolerances");
    fine(CVodeSetMaxNumSteps(s->memory, MAX_STEPS), "CVodeSetMaxNumSteps");
    fine(CVodeSetErrFile(s->memory, NULL), "CVodeSetErrFile");
    if (method == CV_BDF) {
        sunindextype n = (sunindextype)s->n;
        SUNMatrix matrix = must(SUNDenseMatrix(n, n, context), "matrix");
        SUNLinearSolver linear = must(SUNLinSol_Dense(s->y, matrix, context), "linear solver");
        fine(CVodeSetLinearSolver(s->memory, linear, matrix), "CVodeSetLinearSolver");
    } else {
        SUNNonlinearSolver nonlinear = must(SUNNonlinSol_FixedPoint(s->y, 0, context), "fixed point");
        fine(CVodeSetNonlinearSolver(s->memory, nonlinear), "CVodeSetNonlinearSolver");
    }
    if (apart) {
        fine(CVodeQuadInit(s->memory, rates_of_integrals, s->quads), "CVodeQuadInit");
        fine(CVodeQuadSStolerances(s->memory, 1e-6, 1e-6), "CVodeQuadSStolerances");
        fine(CVodeSetQuadErrCon(s->memory, SUNTRUE), "CVodeSetQuadErrCon");
    }
    return s;
}

static size_t run_cvodes(const Candidate *self, double tolerance, double *end) {
    Solver *s = self->solver;
    double t = 0.0, horizon = flight_horizon();
    evaluations = 0;
    N_VScale(1.0, s->start, s->y);
    fine(CVodeReInit(s->memory, 0.0, s->y), "CVodeReInit");
    fine(CVodeSStolerances(s->memory, tolerance, tolerance), "CVodeSStolerances");
    fine(CVodeSetInitStep(s->memory, FIRST_STEP), "CVodeSetInitStep");
    fine(CVodeSetStopTime(s->memory, horizon), "CVodeSetStopTime");
    if (s->quads != NULL) {
        fine(CVodeQuadReInit(s->memory, s->quads_start), "CVodeQuadReInit");
        fine(CVodeQuadSStolerances(s->memory, tolerance, tolerance), "CVodeQuadSStolerances");
    }
    if (CVode(s->memory, horizon, s->y, &t, CV_NORMAL) < 0) return 0;
    if (s->quads == NULL) {
        for (size_t i = 0; i < s->n; i++) end[i] = NV_Ith_S(s->y, i);
    } else {
        if (CVodeGetQuad(s->memory, &t, s->quads) < 0) return 0;
        for (size_t i = 0; i < s->n; i++) end[s->states[i]] = NV_Ith_S(s->y, i);
        for (size_t i = 0; i < s->m; i++) end[s->integrals[i]] = NV_Ith_S(s->quads, i);
    }
    return (size_t)evaluations;
}

/* The method with the rate at the new state as one more stage, where it needs that.
 *
 * Where the last stage lies at the end of the step, ERKStep of version 6.4 takes
 * its rate for the one at the new state, even where the stage is not the new state
 * (llnl/sundials issue 311, mended in later versions by pull request 324). Without
 * this the methods of eight stages and more take four times as long here. With the
 * rate at the new state as last stage it is right, and costs the one call in each
 * step that was missing, no more. */
static ARKodeButcherTable mended(ARKodeButcherTable table) {
    size_t s = (size_t)table->stages, n = s + 1;
    int is_new = 1;
    for (size_t j = 0; j < s; j++) is_new &= fabs(table->A[s - 1][j] - table->b[j]) < 1e-14;
    if (is_new || fabs(table->c[s - 1] - 1.0) > 1e-14) return table;
    ARKodeButcherTable more = must(ARKodeButcherTable_Alloc((int)n, 1), "method");
    more->q = table->q;
    more->p = table->p;
    for (size_t i = 0; i < s; i++) {
        for (size_t j = 0; j < s; j++) more->A[i][j] = table->A[i][j];
        more->A[s][i] = more->b[i] = table->b[i];
        more->c[i] = table->c[i];
        more->d[i] = table->d[i];
    }
    more->c[s] = 1.0;
    ARKodeButcherTable_Free(table);
    return more;
}

/* With one of ARKODE's methods, or (where `id` is none) with one that it is given:
 * `method` of flight_method, of order `q` with an embedded one of order `p`. */
static Solver *arkode(ARKODE_ERKTableID id, size_t method, int q, int p) {
    Solver *s = solver(0);
    ARKodeButcherTable table;
    if (id != ARKODE_ERK_NONE) {
        table = must(ARKodeButcherTable_LoadERK(id), "method");
    } else {
        double c[FLIGHT_STAGES], a[FLIGHT_STAGES * FLIGHT_STAGES], b[FLIGHT_STAGES], d[FLIGHT_STAGES];
        int stages = (int)flight_method(method, c, a, b, d);
        table = must(ARKodeButcherTable_Create(stages, q, p, c, a, b, d), "method");
    }
    table = mended(table);
    s->memory = must(ERKStepCreate(rates_of_all, 0.0, s->y, context), "ARKODE");
    fine(ERKStepSetTable(s->memory, table), "ERKStepSetTable");
    ARKodeButcherTable_Free(table);
    fine(ERKStepSetMaxNumSteps(s->memory, MAX_STEPS), "ERKStepSetMaxNumSteps");
    fine(ERKStepSetErrFile(s->memory, NULL), "ERKStepSetErrFile");
    return s;
}

static size_t run_arkode(const Candidate *self, double tolerance, double *end) {
    Solver *s = self->solver;
    double t = 0.0, horizon = flight_horizon();
    evaluations = 0;
    N_VScale(1.0, s->start, s->y);
    fine(ERKStepReInit(s->memory, rates_of_all, 0.0, s->y), "ERKStepReInit");
    fine(ERKStepSStolerances(s->memory, tolerance, tolerance), "ERKStepSStolerances");
    fine(ERKStepSetInitStep(s->memory, FIRST_STEP), "ERKStepSetInitStep");
    fine(ERKStepSetStopTime(s->memory, horizon), "ERKStepSetStopTime");
    if (ERKStepEvolve(s->memory, horizon, s->y, &t, ARK_NORMAL) < 0) return 0;
    for (size_t i = 0; i < s->n; i++) end[i] = NV_Ith_S(s->y, i);
    return (size_t)evaluations;
}

size_t sundials_candidates(Candidate *list, size_t room) {
    static const struct {
        const char *name;
        ARKODE_ERKTableID table;
    } explicit[] = {
        {"ARKODE Zonneveld 4(3)", ARKODE_ZONNEVELD_5_3_4},
        {"ARKODE Sayfy-Aburub 4(3)", ARKODE_SAYFY_ABURUB_6_3_4},
        {"ARKODE Cash-Karp 5(4)", ARKODE_CASH_KARP_6_4_5},
        {"ARKODE Fehlberg 5(4)", ARKODE_FEHLBERG_6_4_5},
        {"ARKODE Dormand-Prince 5(4)", ARKODE_DORMAND_PRINCE_7_4_5},
        {"ARKODE ARK5(4)8L", ARKODE_ARK548L2SA_ERK_8_4_5},
        {"ARKODE Verner 6(5)", ARKODE_VERNER_8_5_6},
        {"ARKODE Fehlberg 8(7)", ARKODE_FEHLBERG_13_7_8},
    };
    size_t count = 0, methods = sizeof explicit / sizeof *explicit;
    if (room < 6 + methods) {
        fprintf(stderr, "peers: room for %zu candidates, %zu wanted\n", room, 6 + methods);
        exit(2);
    }
    fine(SUNContext_Create(NULL, &context), "SUNContext_Create");
    list[count++] = (Candidate){"CVODE Adams", run_cvodes, cvodes(CV_ADAMS, 0), 0};
    list[count++] = (Candidate){"CVODE BDF", run_cvodes, cvodes(CV_BDF, 0), 0};
    list[count++] = (Candidate){"CVODES Adams, integrals apart", run_cvodes, cvodes(CV_ADAMS, 1), 0};
    list[count++] = (Candidate){"CVODES BDF, integrals apart", run_cvodes, cvodes(CV_BDF, 1), 0};
    for (size_t i = 0; i < methods; i++)
        list[count++] = (Candidate){explicit[i].name, run_arkode, arkode(explicit[i].table, 0, 0, 0), 0};
    /* later versions have these of their own; this one is given them */
    list[count++] =
        (Candidate){"ARKODE Tsitouras 5(4), given", run_arkode, arkode(ARKODE_ERK_NONE, 1, 5, 4), 0};
    list[count++] =
        (Candidate){"ARKODE Dormand-Prince 8(5), given", run_arkode, arkode(ARKODE_ERK_NONE, 2, 8, 5), 0};
    return count;
}
