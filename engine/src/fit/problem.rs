//! The question as the library for least squares wants it.

use super::slopes::slopes;
use super::space::Axis;
use super::{FitError, Observation, Options, Predict, Scatter, Unknown};
use levenberg_marquardt::LeastSquaresProblem;
use nalgebra::{DMatrix, DVector, Dyn, Owned};
use std::cell::{Cell, RefCell};

/// What is left over at a trial without prediction: so much that the step is shortened, and
/// still finite when squared.
const WALL: f64 = 1e100;

/// A search ends when so many slopes on end have lowered the sum of squares by less than this share of it: with scatter that
/// is known, by less than matters beside a standard error. Where predictions have a kink (a limit that just binds) and the
/// best fit lies on it, the library's own tests never hold: it creeps along the kink, 0.07 % of the sum in 500 slopes.
/// Elsewhere it ends long before.
const CREEP: (usize, f64) = (25, 1e-4);

/// What is asked, and what it has cost.
pub(super) struct Desk<'a> {
    pub unknowns: &'a [Unknown],
    pub axes: &'a [Axis],
    pub observations: &'a [Observation],
    pub options: &'a Options,
    predict: &'a mut Predict<'a>,
    /// Factor on the standard deviations.
    pub scatter: f64,
    pub evaluations: usize,
    /// What ends the search whatever the library thinks.
    pub fault: Option<FitError>,
    /// Why the search came to no end, where that is no error.
    pub unfinished: Option<String>,
}

/// Predictions with what is left over, observations before priors.
pub(super) struct Trial {
    pub predicted: Vec<f64>,
    pub left: Vec<f64>,
}

impl<'a> Desk<'a> {
    pub fn new(
        unknowns: &'a [Unknown],
        axes: &'a [Axis],
        observations: &'a [Observation],
        predict: &'a mut Predict<'_>,
        options: &'a Options,
    ) -> Desk<'a> {
        Desk {
            unknowns,
            axes,
            observations,
            options,
            predict,
            scatter: 1.0,
            evaluations: 0,
            fault: None,
            unfinished: None,
        }
    }

    /// Names and values at u.
    pub fn told(&self, u: &[f64]) -> String {
        let each = self.unknowns.iter().zip(self.axes).zip(u);
        let told: Vec<_> = each.map(|((k, axis), &u)| format!("{} = {}", k.name, axis.value(u))).collect();
        told.join(", ")
    }

    /// One finite prediction for each observation.
    fn predict(&mut self, x: &[f64]) -> Result<Vec<f64>, String> {
        // what an unfinished search had is still to be looked at
        if self.evaluations >= self.options.evaluations && self.unfinished.is_none() {
            let limit = FitError::NotConverged {
                evaluations: self.evaluations,
                reason: "the limit set for them".into(),
                chi2: f64::INFINITY,
                at: String::new(),
            };
            self.fault.get_or_insert(limit);
            return Err("the limit of predictions is reached".into());
        }
        self.evaluations += 1;
        let predicted = (self.predict)(x)?;
        let (found, expected) = (predicted.len(), self.observations.len());
        if found != expected {
            self.fault.get_or_insert(FitError::Length { found, expected });
            return Err(format!("{found} values for {expected} observations"));
        }
        let wrong = predicted.iter().zip(self.observations).find(|(value, _)| !value.is_finite());
        match wrong {
            Some((value, observation)) => Err(format!("{} is {value}", observation.label)),
            None => Ok(predicted),
        }
    }

    /// What is left over at u.
    pub fn trial(&mut self, u: &[f64]) -> Result<Trial, String> {
        let x: Vec<f64> = self.axes.iter().zip(u).map(|(axis, &u)| axis.value(u)).collect();
        if let Some((value, unknown)) = x.iter().zip(self.unknowns).find(|(value, _)| !value.is_finite()) {
            return Err(format!("{} is {value}", unknown.name));
        }
        let predicted = self.predict(&x)?;
        let each = predicted.iter().zip(self.observations);
        let mut left: Vec<f64> = each.map(|(p, o)| (p - o.value) / (o.sd * self.scatter)).collect();
        for ((unknown, axis), u) in self.unknowns.iter().zip(self.axes).zip(u) {
            left.extend(unknown.prior.map(|prior| (u - axis.of_value(prior.mean)) / prior.sd));
        }
        match left.iter().all(|r| r.is_finite() && r.abs() < WALL) {
            true => Ok(Trial { predicted, left }),
            false => Err("what is left over is beyond all bounds".into()),
        }
    }

    /// d(left over)/du, one column for each unknown.
    pub fn slopes(&mut self, u: &[f64], middle: &Trial) -> Result<DMatrix<f64>, FitError> {
        let (axes, step) = (self.axes, self.options.step);
        let found = slopes(axes, u, step, &middle.predicted, &mut |x| self.predict(x));
        let raw = match found {
            Ok(raw) => raw,
            Err((j, message)) => {
                let beside = FitError::Beside {
                    name: self.unknowns.get(j).map_or(String::new(), |k| k.name.clone()),
                    value: axes.get(j).zip(u.get(j)).map_or(f64::NAN, |(axis, &u)| axis.value(u)),
                    message,
                };
                return Err(self.fault.take().unwrap_or(beside));
            }
        };
        let mut matrix = DMatrix::zeros(middle.left.len(), u.len());
        for (i, observation) in self.observations.iter().enumerate() {
            matrix.set_row(i, &(raw.row(i) / (observation.sd * self.scatter)));
        }
        let priors = self.unknowns.iter().enumerate().filter_map(|(j, k)| Some((j, k.prior?)));
        for (row, (j, prior)) in priors.enumerate() {
            matrix[(self.observations.len() + row, j)] = 1.0 / prior.sd;
        }
        Ok(matrix)
    }
}

/// A search in the coordinates that are free; the others stay where they are.
pub(super) struct Search<'d, 'a> {
    pub desk: RefCell<&'d mut Desk<'a>>,
    pub free: Vec<usize>,
    /// All coordinates; the free ones as last set.
    u: Vec<f64>,
    z: DVector<f64>,
    last: RefCell<Option<Trial>>,
    /// The best that was tried, with its sum of squares.
    pub best: RefCell<(f64, Vec<f64>)>,
    /// The least sum of squares, each time slopes were taken.
    falls: RefCell<Vec<f64>>,
    /// Whether the search was ended because it creeps.
    pub creeps: Cell<bool>,
}

impl<'d, 'a> Search<'d, 'a> {
    pub fn new(desk: &'d mut Desk<'a>, free: Vec<usize>, u: Vec<f64>) -> Search<'d, 'a> {
        let z = DVector::from_iterator(free.len(), free.iter().map(|&j| desk.axes[j].open(u[j])));
        let best = RefCell::new((f64::INFINITY, u.clone()));
        let (falls, creeps) = (RefCell::new(Vec::new()), Cell::new(false));
        Search { desk: RefCell::new(desk), free, u, z, last: RefCell::new(None), best, falls, creeps }
    }

    /// Notes that slopes are taken; whether the search creeps.
    fn creeping(&self) -> bool {
        // a scatter that is to be found tells nothing yet of what matters beside a standard error
        if self.desk.borrow().options.scatter == Scatter::Estimated {
            return false;
        }
        let (mut falls, now) = (self.falls.borrow_mut(), self.best.borrow().0);
        falls.push(now);
        let before = falls.len().checked_sub(1 + CREEP.0).and_then(|i| falls.get(i));
        before.is_some_and(|before| before - now <= CREEP.1 * now)
    }

    /// The library wants at least as many rows as columns; more rows of zeros change nothing.
    fn rows(&self, left: usize) -> usize {
        left.max(self.free.len())
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Search<'_, '_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, z: &DVector<f64>) {
        self.z.copy_from(z);
        let axes = self.desk.get_mut().axes;
        for (k, &j) in self.free.iter().enumerate() {
            self.u[j] = axes[j].close(z[k]);
        }
        self.last.replace(None);
    }

    fn params(&self) -> DVector<f64> {
        self.z.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let mut desk = self.desk.borrow_mut();
        let priors = desk.unknowns.iter().filter(|k| k.prior.is_some()).count();
        let mut left = DVector::zeros(self.rows(desk.observations.len() + priors));
        match desk.trial(&self.u) {
            Ok(trial) => {
                trial.left.iter().enumerate().for_each(|(i, r)| left[i] = *r);
                let squares = left.norm_squared();
                if squares < self.best.borrow().0 {
                    self.best.replace((squares, self.u.clone()));
                }
                self.last.replace(Some(trial));
            }
            Err(_) if desk.fault.is_some() => return None,
            Err(_) => left.fill(WALL),
        }
        Some(left)
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        if self.creeping() {
            self.creeps.set(true);
            return None;
        }
        let mut desk = self.desk.borrow_mut();
        let last = self.last.borrow();
        let middle = last.as_ref()?;
        let all = match desk.slopes(&self.u, middle) {
            Ok(all) => all,
            Err(error) => {
                desk.fault = Some(error);
                return None;
            }
        };
        let mut matrix = DMatrix::zeros(self.rows(all.nrows()), self.free.len());
        for (k, &j) in self.free.iter().enumerate() {
            let column = all.column(j) * desk.axes[j].gradient(self.z[k]);
            matrix.view_mut((0, k), (all.nrows(), 1)).copy_from(&column);
        }
        Some(matrix)
    }
}
