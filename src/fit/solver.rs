//! Damped Gauss-Newton: the minimum of S(x) = |r(x)|^2.

use nalgebra::{DMatrix, DVector};

use super::damping::{LinearModel, Step};
use super::problem::{Evaluation, OutOfDomain, Problem};

/// When to stop. Every tolerance is free of scale: units of x and the size of r do not matter.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Iterations (accepted steps) before [`Stop::OutOfPatience`].
    pub max_iterations: usize,
    /// [`Stop::SmallGradient`] when |Q1' r| <= `offset` |r|, Q1 an orthonormal basis of the columns of J. The
    /// next step would then move no unknown by more than `offset` sqrt(m - n) of its own standard
    /// uncertainty, as rescaled by the residuals (Bates and Watts 1981).
    pub offset: f64,
    /// [`Stop::SmallStep`] when the Gauss-Newton step has |D p| <= `step` |D x|.
    pub step: f64,
    /// [`Stop::SmallReduction`] becomes possible when the promised fall of S is below `reduction` S, where
    /// rounding hides the true one; steps then go on only while they shorten |Q1' r|.
    pub reduction: f64,
    /// The first step is no longer than `first_step` |D x|. It is not bounded when x is nought.
    pub first_step: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self { max_iterations: 500, offset: 1e-10, step: 1e-14, reduction: 1e-12, first_step: 1.0 }
    }
}

/// Why the solver stopped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stop {
    /// The residuals are orthogonal to the columns of J, see [`Options::offset`].
    SmallGradient,
    /// The next step is too short to matter, see [`Options::step`].
    SmallStep,
    /// S cannot be lowered further in double precision, see [`Options::reduction`].
    SmallReduction,
    /// The residuals are no larger than the change that rounding x alone makes in them.
    ExactFit,
    /// [`Options::max_iterations`] reached: not a minimum.
    OutOfPatience,
    /// No step along the promised direction lowers S: a wrong Jacobian, or a model that is not smooth.
    NoProgress,
    /// The model has no value at the start, with its reason.
    StartOutOfDomain(String),
}

impl Stop {
    /// Whether a stationary point was reached. It is a local minimum as a rule; nothing proves it the lowest.
    pub fn converged(&self) -> bool {
        matches!(self, Self::SmallGradient | Self::SmallStep | Self::SmallReduction | Self::ExactFit)
    }
}

/// The point where the solver stopped, and why. Read [`Solution::stop`] first.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Unknowns, length n.
    pub x: DVector<f64>,
    /// Whitened residuals at x, length m; empty if the start was out of the domain.
    pub residuals: DVector<f64>,
    /// dr/dx at x, m x n; without rows if the start was out of the domain.
    pub jacobian: DMatrix<f64>,
    /// S(x) = |r(x)|^2. Infinite if the start was out of the domain.
    pub sum_of_squares: f64,
    /// Accepted steps.
    pub iterations: usize,
    /// Calls of the problem, refused steps included.
    pub evaluations: usize,
    /// Why the solver stopped.
    pub stop: Stop,
}

/// Finds x that makes S(x) smallest, from `start` (length n).
///
/// Each iteration factors J once and tries the Gauss-Newton step. Only if that is longer than the trust radius
/// is the step damped, p = -(J'J + lambda D^2)^-1 J'r with lambda chosen so that |D p| meets the radius, from a QR
/// of [J; sqrt(lambda) D] and not from J'J. The radius follows how well the linear model foretold the fall of S (Moré
/// 1978). D holds the largest column norms of J seen so far, which makes the path independent of units.
///
/// Close to the minimum S is flat and its changes drown in rounding, while |Q1' r| is still well defined: steps
/// are then judged by that instead, so that x settles at the accuracy of the residuals. For a linear
/// problem this is iterative refinement with residuals in working precision (Björck 1996, section 2.9).
pub fn solve(problem: &impl Problem, start: &DVector<f64>, options: &Options) -> Solution {
    let first = match evaluate(problem, start) {
        Ok(first) => first,
        Err(OutOfDomain(why)) => return out_of_domain(start, why),
    };
    let mut search = Search {
        sum_of_squares: first.residuals.norm_squared(),
        here: first,
        x: start.clone(),
        scale: DVector::zeros(start.len()),
        radius: f64::INFINITY,
        evaluations: 1,
    };
    let mut iterations = 0;
    let stop = loop {
        if search.residuals_are_rounding(1.0) {
            break Stop::ExactFit;
        }
        search.update_scale();
        if iterations == 0 {
            let size = search.size_of_x() * options.first_step;
            search.radius = if size > 0.0 { size } else { f64::INFINITY };
        }
        let model = LinearModel::of(&search.here.jacobian, &search.here.residuals, &search.scale);
        if model.removable() <= options.offset * search.sum_of_squares.sqrt() {
            break Stop::SmallGradient;
        }
        if iterations == options.max_iterations {
            break Stop::OutOfPatience;
        }
        match search.advance(problem, &model, options) {
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
        evaluations: search.evaluations,
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
    evaluations: usize,
}

impl Search {
    /// Takes one step that lowers S, or says why there is none.
    fn advance(&mut self, problem: &impl Problem, model: &LinearModel, options: &Options) -> Option<Stop> {
        let undamped = model.gauss_newton();
        if undamped.length <= options.step * self.size_of_x() {
            return Some(Stop::SmallStep);
        }
        if undamped.predicted() <= options.reduction * self.sum_of_squares {
            return self.refine(problem, model, &undamped.p);
        }
        // 1.1: the same tolerance on the radius as in the search for lambda.
        let mut step =
            if undamped.length <= 1.1 * self.radius { undamped } else { model.within(self.radius) };
        loop {
            self.radius = self.radius.min(step.length);
            let fall = match self.try_step(problem, &step) {
                Trial::Accepted { ratio } => {
                    if ratio >= 0.75 || (step.damped == 0.0 && ratio >= 0.25) {
                        self.radius = 2.0 * step.length;
                    } else if ratio < 0.25 {
                        self.radius = 0.5 * step.length;
                    }
                    return None;
                }
                Trial::Refused { fall } => fall,
            };
            self.radius = step.length * shortening(&step, fall);
            if self.radius <= options.step * self.size_of_x() || self.radius < f64::MIN_POSITIVE {
                return Some(if self.residuals_are_rounding(100.0) {
                    Stop::ExactFit
                } else {
                    Stop::NoProgress
                });
            }
            step = model.within(self.radius);
        }
    }

    /// Tries x + p. An undamped step is likely to stand, so its Jacobian is asked for at once; a damped one is first
    /// tried on the residuals alone.
    fn try_step(&mut self, problem: &impl Problem, step: &Step) -> Trial {
        let x = &self.x + &step.p;
        self.evaluations += 1;
        let whole = if step.damped == 0.0 { Some(evaluate(problem, &x)) } else { None };
        let residuals = match &whole {
            Some(Ok(evaluation)) => evaluation.residuals.clone(),
            Some(Err(_)) => return Trial::Refused { fall: None },
            None => match problem.residuals(&x) {
                Ok(residuals) if residuals.iter().all(|r| r.is_finite()) => residuals,
                _ => return Trial::Refused { fall: None },
            },
        };
        // As a sum of products, which keeps the digits that S(x) - S(x + p) would lose.
        let fall = (&self.here.residuals - &residuals).dot(&(&self.here.residuals + &residuals));
        let ratio = fall / step.predicted();
        if ratio.is_nan() || ratio < 1e-4 {
            return Trial::Refused { fall: Some(fall) };
        }
        let Ok(evaluation) = whole.unwrap_or_else(|| {
            self.evaluations += 1;
            evaluate(problem, &x)
        }) else {
            return Trial::Refused { fall: None };
        };
        self.stand_at(x, evaluation);
        Trial::Accepted { ratio }
    }

    /// A Gauss-Newton step where rounding hides the fall of S: it stands if |Q1' r| shrinks.
    fn refine(&mut self, problem: &impl Problem, model: &LinearModel, p: &DVector<f64>) -> Option<Stop> {
        let x = &self.x + p;
        self.evaluations += 1;
        let Ok(evaluation) = evaluate(problem, &x) else { return Some(Stop::SmallReduction) };
        let next = LinearModel::of(&evaluation.jacobian, &evaluation.residuals, &self.scale);
        if next.removable() >= 0.9 * model.removable() {
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

    fn update_scale(&mut self) {
        for (scale, column) in self.scale.iter_mut().zip(self.here.jacobian.column_iter()) {
            *scale = scale.max(column.norm());
            if *scale == 0.0 {
                *scale = 1.0;
            }
        }
    }

    /// |D x|.
    fn size_of_x(&self) -> f64 {
        self.x.component_mul(&self.scale).norm()
    }

    /// Whether |r| <= times eps | |J| |x| |.
    fn residuals_are_rounding(&self, times: f64) -> bool {
        let mut reach = DVector::zeros(self.here.residuals.len());
        for (x, column) in self.x.iter().zip(self.here.jacobian.column_iter()) {
            reach.axpy(x.abs(), &column.abs(), 1.0);
        }
        self.sum_of_squares.sqrt() <= times * f64::EPSILON * reach.norm()
    }
}

enum Trial {
    /// Taken, with the true fall of S over the promised one.
    Accepted { ratio: f64 },
    /// Not taken; the fall of S (negative for a rise), or none where the model has no value.
    Refused { fall: Option<f64> },
}

/// By what factor to shorten a refused step: to the minimum of the parabola through S, its slope and the refused
/// value, kept between 0.1 and 0.5 (Moré 1978, section 4).
fn shortening(step: &Step, fall: Option<f64>) -> f64 {
    let half_slope = step.change + step.damped;
    match fall {
        Some(fall) if fall < 0.0 => (half_slope / (2.0 * half_slope - fall)).clamp(0.1, 0.5),
        Some(_) => 0.5,
        None => 0.25,
    }
}

fn evaluate(problem: &impl Problem, x: &DVector<f64>) -> Result<Evaluation, OutOfDomain> {
    let evaluation = problem.evaluate(x)?;
    let finite = |values: &[f64]| values.iter().all(|value| value.is_finite());
    if finite(evaluation.residuals.as_slice()) && finite(evaluation.jacobian.as_slice()) {
        Ok(evaluation)
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

    /// Two unknowns seen only as their sum, and a model of fewer rows than unknowns: what the residuals do not
    /// determine stays near its start, and the fit still converges.
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
