//! The machine as numbers: where the sprockets are, what a controller pays out, where the carriage settles.

use super::chain::{ChainEnd, ChainKind};
use super::hardware::{Attachment, Hardware};
use super::newton::{Root, implicit, root};
use super::real::{Dual, Real};
use super::sled::{Sled, Turn};
use super::unknowns::{COMMON, COUNT, Unknown, Values};
use crate::frame::{Point, Sheet};
use std::fmt;

/// Accuracy to which positions are solved, mm.
const POSITION_MM: f64 = 1e-10;
/// Accuracy to which forces are solved, N.
const FORCE_N: f64 = 1e-9;
/// Least angle of a chain below the horizontal, rad; at 3 degrees each chain pulls with nearly ten times the
/// weight of the carriage (W / (2 sin 3 deg)).
const LEAST_ANGLE_RAD: f64 = 3.0 * std::f64::consts::PI / 180.0;
/// Variables behind a derivative: the unknowns, then two more (a target's coordinates, or the lengths paid out).
const CONVERGING: usize = COMMON + 2;
/// The same for a sled with two pivots.
const APART: usize = COUNT + 2;
/// Rounds in which a first guess of the sled's turn is found from straight chains.
const GUESSES: usize = 3;

/// The two sides of the machine.
const SIDES: [Side; 2] = [Side::Left, Side::Right];

/// One side of the machine, seen from the front.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// The left chain, its sprocket and motor.
    Left,
    /// The right chain, its sprocket and motor.
    Right,
}

impl Side {
    /// `left` or `right`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    /// +1 for a quantity that points inward to the right, -1 for one that points inward to the left.
    const fn inward(self) -> f64 {
        match self {
            Self::Left => 1.0,
            Self::Right => -1.0,
        }
    }
}

/// Why the carriage cannot hang at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unreachable {
    /// So near the line of the sprockets that a chain would lie almost level and pull without limit.
    NearLevel(Side),
    /// So far to one side that a chain would sag below the carriage and carry nothing.
    Slack(Side),
    /// The sled would turn so far about its pivots that it hangs askew or tips over.
    Tips,
    /// There is no balance of forces for these chain lengths.
    NoBalance,
}

impl fmt::Display for Unreachable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NearLevel(side) => write!(
                f,
                "the {} chain would lie almost level there and pull many times the carriage's weight",
                side.name()
            ),
            Self::Slack(side) => write!(f, "the {} chain would go slack there", side.name()),
            Self::Tips => write!(f, "the sled would turn by more than 60 degrees or tip over there"),
            Self::NoBalance => write!(f, "the carriage would not hang in balance there"),
        }
    }
}

impl std::error::Error for Unreachable {}

/// A machine: its parts, a value for each unknown, and whether the weight of the chains is reckoned with.
///
/// The same type is a *belief* (the controller's settings) and a *truth* (the unknowns of the real machine).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Machine {
    /// Sprockets, chain, carriage.
    pub hardware: Hardware,
    /// The sheet; its middle is the origin.
    pub sheet: Sheet,
    /// A value for each unknown.
    pub values: Values<f64>,
    /// Does the chain have weight? Always true of a real machine; of a controller, its `sag` setting.
    pub sag: bool,
}

/// Chain that a controller pays out for a target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Payout {
    /// Left and right, from the 12 o'clock tooth, mm.
    pub paid_mm: [f64; 2],
    /// Row per chain: derivatives by the controller's unknowns.
    pub by_belief: [[f64; COUNT]; 2],
    /// Row per chain: derivatives by the target's x and y.
    pub by_target: [[f64; 2]; 2],
}

/// Where the carriage settles for two lengths of chain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Landing {
    /// The place.
    pub at: Point,
    /// Row per axis (x, y): derivatives by the machine's unknowns.
    pub by_truth: [[f64; COUNT]; 2],
    /// Row per axis: derivatives by the two lengths paid out.
    pub by_paid: [[f64; 2]; 2],
    /// Tension of each chain at its sprocket, N.
    pub tension_n: [f64; 2],
    /// Turn of a sled with two pivots, counterclockwise, rad; 0 where the chains converge.
    pub turn_rad: f64,
}

impl Landing {
    /// Derivatives of the place by the controller's unknowns, row per axis.
    pub fn by_belief(&self, payout: &Payout) -> [[f64; COUNT]; 2] {
        self.by_paid.map(|row| {
            std::array::from_fn(|k| row[0] * payout.by_belief[0][k] + row[1] * payout.by_belief[1][k])
        })
    }

    /// Derivatives of the place by the target's coordinates, row per axis.
    pub fn by_target(&self, payout: &Payout) -> [[f64; 2]; 2] {
        self.by_paid.map(|row| {
            std::array::from_fn(|k| row[0] * payout.by_target[0][k] + row[1] * payout.by_target[1][k])
        })
    }
}

/// Where a machine lands when its controller believes something else.
///
/// # Errors
/// When the carriage cannot hang at the target.
pub fn land(belief: &Machine, truth: &Machine, target: Point) -> Result<Landing, Unreachable> {
    truth.settle(belief.pay_out(target)?.paid_mm, target)
}

/// A machine with its unknowns as numbers of any kind: what the formulas are written for.
struct Parts<T> {
    axes: [[T; 2]; 2],
    chain: ChainKind<T>,
    length_mm: [T; 2],
    pitch: [T; 2],
    carriage_n: f64,
    /// The sled, where its pivots are apart.
    sled: Option<Sled<T>>,
}

impl<T: Real> Parts<T> {
    fn of(machine: &Machine, values: [T; COUNT]) -> Self {
        let value = |u: Unknown| values[u as usize];
        let tau = value(Unknown::Tilt) * 1e-3;
        let half = value(Unknown::Spacing) * 0.5;
        let (across, up) = (half * tau.cos(), half * tau.sin());
        let middle_y = value(Unknown::Height) + machine.sheet.height_mm / 2.0;
        let c = value(Unknown::Offset);
        Self {
            axes: [[c - across, middle_y - up], [c + across, middle_y + up]],
            chain: ChainKind {
                radius_mm: machine.hardware.pitch_radius_mm(),
                leaves: machine.hardware.chain_leaves,
                weight_n_per_mm: if machine.sag { machine.hardware.chain_weight_n_per_mm() } else { 0.0 },
                compliance_per_n: value(Unknown::Stretch) * (1e-3 / 100.0),
            },
            length_mm: [value(Unknown::LengthLeft), value(Unknown::LengthRight)],
            pitch: [value(Unknown::PitchLeft) * 1e-3, value(Unknown::PitchRight) * 1e-3],
            carriage_n: machine.hardware.carriage_weight_n(),
            sled: (machine.hardware.attachment == Attachment::Apart).then(|| Sled {
                apart_mm: value(Unknown::Apart),
                above_mm: value(Unknown::Above),
                mass_above_mm: value(Unknown::MassAbove),
                weight_n: machine.hardware.carriage_weight_n(),
            }),
        }
    }

    /// A place as the sprocket of a side sees it: inward and down, mm.
    fn seen_from(&self, side: Side, x: T, y: T) -> [T; 2] {
        let [ax, ay] = self.axes[side as usize];
        [(x - ax) * side.inward(), ay - y]
    }

    /// Where the bit is on the sheet for the end of a chain.
    fn place(&self, side: Side, end: &ChainEnd<T>, turn: &Option<Turn<T>>) -> [T; 2] {
        let [ax, ay] = self.axes[side as usize];
        let end = [ax + end.inward_mm * side.inward(), ay - end.down_mm];
        let (Some(sled), Some(turn)) = (&self.sled, turn) else { return end };
        let [right, up] = sled.pivot_to_bit(side.inward(), turn);
        [end[0] + right, end[1] + up]
    }

    /// How the sled turns under what the chains pull with.
    fn turn(&self, horizontal_n: T, ends: &[ChainEnd<T>; 2]) -> Option<Turn<T>> {
        self.sled.as_ref().map(|sled| sled.turn(horizontal_n, [ends[0].lift_n, ends[1].lift_n]))
    }

    /// Where a chain has to end for the bit to be at a place, as its sprocket sees it.
    fn end_seen_from(&self, side: Side, x: T, y: T, turn: &Turn<T>) -> [T; 2] {
        let Some(sled) = &self.sled else { return self.seen_from(side, x, y) };
        let [right, up] = sled.pivot_to_bit(side.inward(), turn);
        self.seen_from(side, x - right, y - up)
    }

    /// The length that has to be paid out for a true length.
    fn paid(&self, side: Side, true_mm: T) -> T {
        (true_mm - self.length_mm[side as usize]) / (self.pitch[side as usize] + 1.0)
    }

    /// The true length for a length paid out.
    fn true_length(&self, side: Side, paid_mm: T) -> T {
        paid_mm * (self.pitch[side as usize] + 1.0) + self.length_mm[side as usize]
    }

    /// Both chains hung from (H, V left, V right) with their true lengths.
    fn hang(&self, force: [T; 3], true_mm: [T; 2]) -> [ChainEnd<T>; 2] {
        SIDES.map(|s| self.chain.hang(force[0], force[1 + s as usize], true_mm[s as usize]))
    }

    /// Lift that is missing, N.
    fn imbalance(&self, ends: &[ChainEnd<T>; 2]) -> T {
        ends[0].lift_n + ends[1].lift_n - self.carriage_n
    }
}

impl Parts<f64> {
    /// Force guess (H, V left, V right) with straight chains to a place, and the plain lengths.
    fn straight(&self, at: Point) -> Result<([f64; 3], [f64; 2]), Unreachable> {
        let mut turn = Turn::level();
        let Some(sled) = &self.sled else { return self.straight_with(at, &turn) };
        for _ in 0..GUESSES {
            let (force, lengths) = self.straight_with(at, &turn)?;
            let w = self.chain.weight_n_per_mm;
            let lift = SIDES.map(|s| force[1 + s as usize] - w * lengths[s as usize]);
            turn = sled.turn(force[0], lift).at_most();
        }
        self.straight_with(at, &turn)
    }

    fn straight_with(&self, at: Point, turn: &Turn<f64>) -> Result<([f64; 3], [f64; 2]), Unreachable> {
        let mut tangents = [0.0; 2];
        let mut lengths = [0.0; 2];
        for side in SIDES {
            let [inward, down] = self.end_seen_from(side, at.x_mm, at.y_mm, turn);
            let far_enough = inward.hypot(down) > 2.0 * self.chain.radius_mm;
            let angle = self.chain.plain_angle(inward, down);
            if !far_enough || angle.is_nan() || angle < LEAST_ANGLE_RAD {
                return Err(Unreachable::NearLevel(side));
            }
            if angle >= std::f64::consts::FRAC_PI_2 {
                return Err(Unreachable::Slack(if side == Side::Left { Side::Right } else { Side::Left }));
            }
            tangents[side as usize] = angle.tan();
            lengths[side as usize] = self.chain.plain_length_mm(inward, down);
        }
        let w = self.chain.weight_n_per_mm;
        let h = (self.carriage_n + 0.5 * w * (lengths[0] + lengths[1])) / (tangents[0] + tangents[1]);
        let force = [h, h * tangents[0] + 0.5 * w * lengths[0], h * tangents[1] + 0.5 * w * lengths[1]];
        Ok((force, lengths))
    }

    /// Refuses a chain that sags below the carriage, and a sled that tips.
    fn holds(&self, force: [f64; 3], true_mm: [f64; 2]) -> Result<Option<Turn<f64>>, Unreachable> {
        let ends = self.hang(force, true_mm);
        for side in SIDES {
            if ends[side as usize].lift_n <= 0.0 {
                return Err(Unreachable::Slack(side));
            }
        }
        let turn = self.turn(force[0], &ends);
        if turn.is_some_and(|t| t.is_too_far()) {
            return Err(Unreachable::Tips);
        }
        Ok(turn)
    }
}

impl Machine {
    /// The first `V` - 2 unknowns as variables; two more variables may follow them.
    fn dual_values<const V: usize>(&self) -> [Dual<V>; COUNT] {
        std::array::from_fn(|k| {
            let value = self.values.0[k];
            if k < V - 2 { Dual::variable(value, k) } else { Dual::constant(value) }
        })
    }

    fn constants<T: Real>(&self) -> Parts<T> {
        Parts::of(self, self.values.0.map(T::constant))
    }

    /// Does this machine, as a belief, reckon with straight, stiff chains that meet at the bit?
    fn is_plain(&self) -> bool {
        !self.sag
            && self.values[Unknown::Stretch] == 0.0
            && self.hardware.attachment == Attachment::Converging
    }

    /// Chain that a controller with this belief pays out to reach a target.
    ///
    /// A plain controller takes straight, stiff chains; one with `sag` or a `stretch` setting solves the full model. A
    /// controller of a sled with two pivots knows where these are, and where the centre of mass is, and reckons with the
    /// sled in balance; if it took the sled for level, it would be off by centimetres towards the sides.
    ///
    /// # Errors
    /// When the carriage cannot hang at the target.
    pub fn pay_out(&self, target: Point) -> Result<Payout, Unreachable> {
        match self.hardware.attachment {
            Attachment::Converging => self.pay_out_with::<CONVERGING>(target),
            Attachment::Apart => self.pay_out_with::<APART>(target),
        }
    }

    fn pay_out_with<const V: usize>(&self, target: Point) -> Result<Payout, Unreachable> {
        let parts = Parts::of(self, self.dual_values::<V>());
        let [x, y] = [Dual::variable(target.x_mm, V - 2), Dual::variable(target.y_mm, V - 1)];
        let plain = self.constants::<f64>();
        let (force, lengths) = plain.straight(target)?;
        let true_mm = if self.is_plain() {
            SIDES.map(|s| {
                let [inward, down] = parts.seen_from(s, x, y);
                parts.chain.plain_length_mm(inward, down)
            })
        } else {
            let start = [force[0], force[1], force[2], lengths[0], lengths[1]];
            let here = self.constants::<Dual<5>>();
            let found = root(start, |z| balance_at(&here, z, [target.x_mm, target.y_mm].map(Dual::constant)))
                .ok_or(Unreachable::NoBalance)?;
            let z = found.at;
            plain.holds([z[0], z[1], z[2]], [z[3], z[4]])?;
            let moved = implicit(&found, balance_at(&parts, z.map(Dual::constant), [x, y]))
                .ok_or(Unreachable::NoBalance)?;
            [moved[3], moved[4]]
        };
        let paid = SIDES.map(|s| parts.paid(s, true_mm[s as usize]));
        Ok(Payout {
            paid_mm: paid.map(|p| p.value),
            by_belief: paid.map(|p| by_unknown(&p)),
            by_target: paid.map(|p| [p.partials[V - 2], p.partials[V - 1]]),
        })
    }

    /// Where the carriage of this machine settles for two lengths of chain paid out; `near` is where to look first.
    ///
    /// # Errors
    /// When there is no balance, or a chain is slack or near level there.
    pub fn settle(&self, paid_mm: [f64; 2], near: Point) -> Result<Landing, Unreachable> {
        match self.hardware.attachment {
            Attachment::Converging => self.settle_with::<CONVERGING>(paid_mm, near),
            Attachment::Apart => self.settle_with::<APART>(paid_mm, near),
        }
    }

    fn settle_with<const V: usize>(&self, paid_mm: [f64; 2], near: Point) -> Result<Landing, Unreachable> {
        let plain = self.constants::<f64>();
        let true_mm = SIDES.map(|s| plain.true_length(s, paid_mm[s as usize]));
        let start = plain.straight(self.straight_place(true_mm, near)?)?.0;
        let here = self.constants::<Dual<3>>();
        let found =
            root(start, |z| balance(&here, z, true_mm.map(Dual::constant))).ok_or(Unreachable::NoBalance)?;
        let turn = plain.holds(found.at, true_mm)?;

        let parts = Parts::of(self, self.dual_values::<V>());
        let paid = SIDES.map(|s| Dual::variable(paid_mm[s as usize], V - 2 + s as usize));
        let lengths = SIDES.map(|s| parts.true_length(s, paid[s as usize]));
        let force = implicit(&found, balance(&parts, found.at.map(Dual::constant), lengths))
            .ok_or(Unreachable::NoBalance)?;
        let ends = parts.hang(force, lengths);
        let place = parts.place(Side::Left, &ends[0], &parts.turn(force[0], &ends));
        Ok(Landing {
            at: Point::new(place[0].value, place[1].value),
            by_truth: place.map(|c| by_unknown(&c)),
            by_paid: place.map(|c| [c.partials[V - 2], c.partials[V - 1]]),
            tension_n: [force[0].value.hypot(force[1].value), force[0].value.hypot(force[2].value)],
            turn_rad: turn.map_or(0.0, |t| t.sin.atan2(t.cos)),
        })
    }

    /// Where straight, stiff chains of these lengths would meet, or hold a level sled.
    fn straight_place(&self, true_mm: [f64; 2], near: Point) -> Result<Point, Unreachable> {
        let parts = self.constants::<Dual<2>>();
        let found: Root<2> = root([near.x_mm, near.y_mm], |[x, y]| {
            SIDES.map(|s| {
                let [inward, down] = parts.end_seen_from(s, x, y, &Turn::level());
                (parts.chain.plain_length_mm(inward, down) - true_mm[s as usize]) * (1.0 / 1e-3)
            })
        })
        .ok_or(Unreachable::NoBalance)?;
        Ok(Point::new(found.at[0], found.at[1]))
    }
}

/// Derivatives by the unknowns; by those that are no variables they are 0.
fn by_unknown<const V: usize>(number: &Dual<V>) -> [f64; COUNT] {
    std::array::from_fn(|k| if k < V - 2 { number.partials[k] } else { 0.0 })
}

/// Equations of balance for given chain lengths: both ends meet, and together they carry the carriage. Where the
/// pivots are apart, both put the bit at the same place, the sled turned as it balances.
fn balance<T: Real>(parts: &Parts<T>, force: [T; 3], true_mm: [T; 2]) -> [T; 3] {
    let ends = parts.hang(force, true_mm);
    let turn = parts.turn(force[0], &ends);
    let [left, right] = SIDES.map(|s| parts.place(s, &ends[s as usize], &turn));
    [
        (left[0] - right[0]) * (1.0 / POSITION_MM),
        (left[1] - right[1]) * (1.0 / POSITION_MM),
        parts.imbalance(&ends) * (1.0 / FORCE_N),
    ]
}

/// Equations of balance at a given place, for z = (H, V left, V right, true length left, right).
fn balance_at<T: Real>(parts: &Parts<T>, z: [T; 5], at: [T; 2]) -> [T; 5] {
    let ends = parts.hang([z[0], z[1], z[2]], [z[3], z[4]]);
    let turn = parts.turn(z[0], &ends);
    let [left, right] = SIDES.map(|s| parts.place(s, &ends[s as usize], &turn));
    [
        (left[0] - at[0]) * (1.0 / POSITION_MM),
        (left[1] - at[1]) * (1.0 / POSITION_MM),
        (right[0] - at[0]) * (1.0 / POSITION_MM),
        (right[1] - at[1]) * (1.0 / POSITION_MM),
        parts.imbalance(&ends) * (1.0 / FORCE_N),
    ]
}
