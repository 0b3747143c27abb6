//! Damped Gauss-Newton: the minimum of S(x) = |r(x)|^2.

use std::cell::Cell;

use nalgebra::{DMatrix, DVector};

use super::damping::{LinearModel, Step};
use super::problem::{Evaluation, OutOfDomain, Problem};
use super::solution::{Options, Solution, Stop};

/// Finds x that makes S(x) smallest, from `start` (length n).
///
/// Each iteration factors J once and tries the Gauss-Newton step. Only if that is longer than the trust
/// radius is the step damped, p = -(J'J + lambda D^2)^-1 J'r with lambda chosen so that |D p| meets the
/// radius, from a QR of [J; sqrt(lambda) D] and not from J'J. The radius follows how well the linear model
/// foretold the fall of S (Moré 1978). D holds the largest column norms of J seen, slowly forgotten, which
/// makes the path independent of units.
///
/// A damped step follows a bent valley better as a parabola than as a line: it is given half the acceleration
/// that the second derivative of r along it asks for (Transtrum and Sethna 2012), for one more call of
/// [`Problem::residuals`]. A mildly nonlinear problem is never damped and pays nothing for this.
///
/// Close to the minimum S is flat and its changes drown in rounding, while the Gauss-Newton step is still
/// well defined: steps are then judged by their lengths instead, so that x settles at the accuracy of the
/// residuals. The linear least-squares problem of a badly conditioned step is itself refined in doubled
/// precision (Björck 1967), so that a linear problem started from nought is solved to the last digits that J
/// and r, as given, determine.
pub fn solve(problem: &impl Problem, start: &DVector<f64>, options: &Options) -> Solution {
    let problem = Counted { problem, calls: Cell::new(0) };
    let first = match problem.evaluate(start) {
        Ok(first) => first,
        Err(OutOfDomain(why)) => return out_of_domain(start, why),
    };
    let mut search = Search {
        sum_of_squares: first.residuals.norm_squared(),
        here: first,
        x: start.clone(),
        scale: DVector::zeros(start.len()),
        radius: f64::INFINITY,
    };
    let mut iterations = 0;
    let stop = loop {
        if search.sum_of_squares.sqrt() <= search.rounding_of_r() {
            break Stop::ExactFit;
        }
        search.update_scale();
        if iterations == 0 {
            let size = search.size_of_x() * options.first_step;
            search.radius = if size > 0.0 { size } else { f64::INFINITY };
        }
        match search.advance(&problem, options, iterations < options.max_iterations) {
            Some(stop) => break stop,
            None => iterations += 1,
        }
    };
    Solution {
        x: search.x,
        residuals: search.here.residuals,
        jacobian: search.here.jacobian,
        sum_of_squares: search.sum_of_squares,
        iterations,
        evaluations: problem.calls.get(),
        stop,
    }
}

/// Where the search stands.
struct Search {
    x: DVector<f64>,
    here: Evaluation,
    sum_of_squares: f64,
    /// Diagonal of D.
    scale: DVector<f64>,
    /// Longest |D p| that the linear model is trusted for.
    radius: f64,
}

impl Search {
    /// Takes one step that lowers S, or says why there is none.
    fn advance(&mut self, problem: &Counted<impl Problem>, options: &Options, patient: bool) -> Option<Stop> {
        let model = LinearModel::of(&self.here, &self.scale);
        if model.removable() <= options.offset * self.sum_of_squares.sqrt() {
            return Some(Stop::SmallGradient);
        }
        let size_of_x = self.size_of_x();
        let undamped = model.gauss_newton(size_of_x);
        if undamped.length <= options.step * size_of_x {
            return Some(Stop::SmallStep);
        }
        if !patient {
            return Some(Stop::OutOfPatience);
        }
        if undamped.predicted() <= f64::max(options.reduction * self.sum_of_squares, self.rounding_of_s()) {
            return self.polish(problem, &undamped);
        }
        // 1.1: the same tolerance on the radius as in the search for lambda.
        let mut step =
            if undamped.length <= 1.1 * self.radius { undamped } else { model.within(self.radius) };
        let (x, evaluation, ratio) = loop {
            let refused = match self.attempt(problem, &model, &step) {
                Ok(taken) => break taken,
                Err(refused) => refused,
            };
            let radius = step.length * refused.shortening(&step);
            // Written so that a radius that is not a number ends the search too.
            if !(radius > options.step * size_of_x && radius > f64::MIN_POSITIVE) {
                return Some(Stop::NoProgress);
            }
            step = model.within(radius);
        };
        self.radius = match ratio {
            ratio if ratio < 0.25 => 0.5 * step.length,
            ratio if ratio >= 0.75 || step.lambda == 0.0 => 2.0 * step.length,
            _ => step.length,
        };
        self.stand_at(x, evaluation);
        None
    }

    /// Tries x + p: the new point with the true fall of S over the promised one, or why it is refused.
    ///
    /// An undamped step is likely to stand, so its Jacobian is asked for at once; a damped one is first tried
    /// on the residuals alone.
    fn attempt(
        &self,
        problem: &Counted<impl Problem>,
        model: &LinearModel,
        step: &Step,
    ) -> Result<(DVector<f64>, Evaluation, f64), Refused> {
        let judge = |residuals: &DVector<f64>| {
            // As a sum of products, which keeps the digits that S(x) - S(x + p) would lose.
            let fall = (&self.here.residuals - residuals).dot(&(&self.here.residuals + residuals));
            let ratio = fall / step.predicted();
            if ratio >= 1e-4 { Ok(ratio) } else { Err(Refused::Rose(fall)) }
        };
        if step.lambda == 0.0 {
            let x = &self.x + &step.p;
            let evaluation = problem.evaluate(&x)?;
            let ratio = judge(&evaluation.residuals)?;
            return Ok((x, evaluation, ratio));
        }
        let x = &self.x + &step.p + self.bend(problem, model, step)?;
        judge(&problem.residuals(&x)?)?;
        let evaluation = problem.evaluate(&x)?;
        let ratio = judge(&evaluation.residuals)?;
        Ok((x, evaluation, ratio))
    }

    /// Half the acceleration that the curvature of r along a damped step asks for (Transtrum and Sethna
    /// 2012): with r'' the second derivative of r along p, a = -(J'J + lambda D^2)^-1 J' r''.
    ///
    /// |D a| <= |D p|/2 is taken as it is, more is cut to that, and past 2 |D p| the linear model is not
    /// believed. These bounds are ours: with them the classical hard problems converge from far starts.
    fn bend(
        &self,
        problem: &Counted<impl Problem>,
        model: &LinearModel,
        step: &Step,
    ) -> Result<DVector<f64>, Refused> {
        const AHEAD: f64 = 0.1;
        let ahead = problem.residuals(&(&self.x + AHEAD * &step.p))?;
        let second = 2.0 / AHEAD * ((ahead - &self.here.residuals) / AHEAD - &self.here.jacobian * &step.p);
        let acceleration = model.damped_step(&second, step.lambda);
        let bend = acceleration.length / step.length;
        if bend <= 2.0 { Ok(0.5 * (0.5 / bend).min(1.0) * acceleration.p) } else { Err(Refused::NoValue) }
    }

    /// A Gauss-Newton step where rounding hides the fall of S: it stands if the one after it is shorter.
    fn polish(&mut self, problem: &Counted<impl Problem>, step: &Step) -> Option<Stop> {
        let x = &self.x + &step.p;
        let Ok(evaluation) = problem.evaluate(&x) else { return Some(Stop::SmallReduction) };
        let next = LinearModel::of(&evaluation, &self.scale).gauss_newton(self.size_of_x());
        if next.length >= 0.9 * step.length {
            return Some(Stop::SmallReduction);
        }
        self.stand_at(x, evaluation);
        None
    }

    fn stand_at(&mut self, x: DVector<f64>, evaluation: Evaluation) {
        self.x = x;
        self.sum_of_squares = evaluation.residuals.norm_squared();
        self.here = evaluation;
    }

    /// The largest column norms seen; a tenth is forgotten at each step, or a start where the model is
    /// absurdly steep would hold back an unknown for ever.
    fn update_scale(&mut self) {
        for (scale, column) in self.scale.iter_mut().zip(self.here.jacobian.column_iter()) {
            *scale = column.norm().max(0.9 * *scale);
            if *scale == 0.0 {
                *scale = 1.0;
            }
        }
    }

    /// |D x|.
    fn size_of_x(&self) -> f64 {
        self.x.component_mul(&self.scale).norm()
    }

    /// |r| that rounding of x alone makes, eps | |J| |x| |: a floor under what any evaluation of r can tell.
    fn rounding_of_r(&self) -> f64 {
        let mut reach = DVector::zeros(self.here.residuals.len());
        for (x, column) in self.x.iter().zip(self.here.jacobian.column_iter()) {
            reach.axpy(x.abs(), &column.abs(), 1.0);
        }
        f64::EPSILON * reach.norm()
    }

    /// The change of S that this makes, 2 |r| |dr|.
    fn rounding_of_s(&self) -> f64 {
        2.0 * self.sum_of_squares.sqrt() * self.rounding_of_r()
    }
}

/// Why a step was not taken.
enum Refused {
    /// S fell by this much only, or rose (negative).
    Rose(f64),
    /// The model has no value there, or bends too much on the way.
    NoValue,
}

impl From<OutOfDomain> for Refused {
    fn from(_: OutOfDomain) -> Self {
        Self::NoValue
    }
}

impl Refused {
    /// By what factor to shorten the step: to the minimum of the parabola through S, its slope and the
    /// refused value, kept between 0.1 and 0.5 (Moré 1978).
    fn shortening(&self, step: &Step) -> f64 {
        match *self {
            Self::Rose(fall) if fall < 0.0 => {
                let half_slope = step.half_slope();
                (half_slope / (2.0 * half_slope - fall)).clamp(0.1, 0.5)
            }
            Self::Rose(_) => 0.5,
            Self::NoValue => 0.25,
        }
    }
}

/// The problem, with its calls counted and values that are not finite taken for a place outside the domain.
struct Counted<'a, P> {
    problem: &'a P,
    calls: Cell<usize>,
}

impl<P: Problem> Counted<'_, P> {
    fn evaluate(&self, x: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
        self.calls.set(self.calls.get() + 1);
        let evaluation = self.problem.evaluate(x)?;
        finite(evaluation.residuals.as_slice())?;
        finite(evaluation.jacobian.as_slice())?;
        Ok(evaluation)
    }

    fn residuals(&self, x: &DVector<f64>) -> Result<DVector<f64>, OutOfDomain> {
        self.calls.set(self.calls.get() + 1);
        let residuals = self.problem.residuals(x)?;
        finite(residuals.as_slice())?;
        Ok(residuals)
    }
}

fn finite(values: &[f64]) -> Result<(), OutOfDomain> {
    if values.iter().all(|value| value.is_finite()) {
        Ok(())
    } else {
        Err(OutOfDomain("the model gave a value that is not a finite number".into()))
    }
}

fn out_of_domain(start: &DVector<f64>, why: String) -> Solution {
    Solution {
        x: start.clone(),
        residuals: DVector::zeros(0),
        jacobian: DMatrix::zeros(0, start.len()),
        sum_of_squares: f64::INFINITY,
        iterations: 0,
        evaluations: 1,
        stop: Stop::StartOutOfDomain(why),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Residuals and Jacobian as plain functions.
    struct Given<R, J>(usize, R, J);

    impl<R: Fn(&DVector<f64>) -> Option<Vec<f64>>, J: Fn(&DVector<f64>) -> Vec<f64>> Problem for Given<R, J> {
        fn unknowns(&self) -> usize {
            self.0
        }
        fn evaluate(&self, x: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
            let r = (self.1)(x).ok_or_else(|| OutOfDomain("no value here".into()))?;
            let jacobian = DMatrix::from_row_slice(r.len(), self.0, &(self.2)(x));
            Ok(Evaluation { residuals: DVector::from_vec(r), jacobian })
        }
    }

    fn run(problem: &impl Problem, start: &[f64]) -> Solution {
        solve(problem, &DVector::from_column_slice(start), &Options::default())
    }

    /// Rosenbrock's valley, minimum 0 at (1, 1): the solver has to follow a bend.
    #[test]
    fn follows_a_bent_valley_to_an_exact_fit() {
        let valley = Given(
            2,
            |x: &DVector<f64>| Some(vec![10.0 * (x[1] - x[0] * x[0]), 1.0 - x[0]]),
            |x: &DVector<f64>| vec![-20.0 * x[0], 10.0, -1.0, 0.0],
        );
        let solution = run(&valley, &[-1.2, 1.0]);
        assert!(solution.stop.converged(), "{:?}", solution.stop);
        assert!((solution.x - DVector::from_vec(vec![1.0, 1.0])).amax() < 1e-14);
    }

    /// A linear problem takes one step and at most one more to see that it has arrived.
    #[test]
    fn a_linear_problem_takes_one_step() {
        let line = Given(
            2,
            |x: &DVector<f64>| Some(vec![x[0] - 1.0, x[0] + x[1] - 3.0, x[0] + 2.0 * x[1] - 4.0]),
            |_: &DVector<f64>| vec![1.0, 0.0, 1.0, 1.0, 1.0, 2.0],
        );
        let solution = run(&line, &[0.0, 0.0]);
        assert_eq!((solution.stop, solution.evaluations), (Stop::SmallGradient, 2));
        // Mean of 1, 3, 4 is 8/3 at t = 1, slope 3/2.
        assert!((solution.x - DVector::from_vec(vec![7.0 / 6.0, 1.5])).amax() < 1e-15);
        assert!((solution.sum_of_squares - 1.0 / 6.0).abs() < 1e-15);
    }

    /// Two unknowns seen only as their sum, and a model of fewer rows than unknowns: what the residuals do
    /// not determine stays near its start, and the fit still converges.
    #[test]
    fn undetermined_unknowns_do_not_run_away() {
        let sum = Given(
            3,
            |x: &DVector<f64>| Some(vec![(x[0] + x[1]).exp() - 2.0, x[0] + x[1] - 0.5]),
            |x: &DVector<f64>| {
                let e = (x[0] + x[1]).exp();
                vec![e, e, 0.0, 1.0, 1.0, 0.0]
            },
        );
        let solution = run(&sum, &[1.0, 2.0, 7.0]);
        assert!(solution.stop.converged(), "{:?}", solution.stop);
        let total = solution.x[0] + solution.x[1];
        assert!(((total.exp() - 2.0) * total.exp() + total - 0.5).abs() < 1e-9, "{total}");
        assert!(solution.x.amax() <= 7.0 && solution.x[2] == 7.0);
    }

    #[test]
    fn steps_back_from_where_the_model_has_no_value() {
        let root = Given(
            1,
            |x: &DVector<f64>| (x[0] > 0.0).then(|| vec![x[0].ln() - 1.0]),
            |x: &DVector<f64>| vec![1.0 / x[0]],
        );
        let solution = run(&root, &[30.0]);
        assert!(solution.stop.converged(), "{:?}", solution.stop);
        assert!((solution.x[0] - std::f64::consts::E).abs() < 1e-14);
        let solution = run(&root, &[-1.0]);
        assert_eq!(solution.stop, Stop::StartOutOfDomain("no value here".into()));
        assert!(!solution.stop.converged());
    }

    #[test]
    fn a_wrong_jacobian_and_lost_patience_are_not_success() {
        let cosh = |x: &DVector<f64>| Some(vec![x[0].cosh(), 1.0]);
        let wrong = Given(1, cosh, |x: &DVector<f64>| vec![-x[0].sinh(), 0.0]);
        assert_eq!(run(&wrong, &[2.0]).stop, Stop::NoProgress);
        let right = Given(1, cosh, |x: &DVector<f64>| vec![x[0].sinh(), 0.0]);
        let impatient = Options { max_iterations: 1, ..Options::default() };
        assert_eq!(solve(&right, &DVector::from_vec(vec![2.0]), &impatient).stop, Stop::OutOfPatience);
        assert!(run(&right, &[2.0]).x[0].abs() < 1e-4);
    }
}
