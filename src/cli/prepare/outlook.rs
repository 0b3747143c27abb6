//! What the planned readings will buy, and what more or fewer would.

use super::settle::{EDGE_READINGS, Settled, length};
use crate::cli::failure::Failure;
use tautgrid::machine::{Unknown, Values};
use tautgrid::planner::{self, Plan, Planner, Quick, Rung};

/// Numbers of distances between holes that are compared.
const COMPARED: [usize; 4] = [6, 12, 24, 40];

/// The table, one number of readings a line.
pub fn words(planner: &Planner<'_>, plan: &Plan, settled: &Settled, passes: usize) -> String {
    let edges = if settled.request.edges { EDGE_READINGS } else { 0 };
    let own = plan.distances.len();
    let mut counts: Vec<usize> = COMPARED.map(|n| n + edges).into();
    counts.push(own);
    counts.sort_unstable();
    counts.dedup();
    let mut rungs = planner.ladder(&counts);
    let all = planner.all();
    rungs.retain(|r| r.readings < all.readings);
    let unit = settled.job.unit;
    let line = |r: &Rung, mark: &str| {
        format!("  {:>5} readings {:>11}   {}\n", r.readings, length(r.rms_mm, unit, 2), mark)
    };
    let mut text = format!(
        "Position error over the sheet, root mean square: {} expected now. What stays unknown after a correction:\n",
        length(plan.before_rms_mm, unit, 1),
    );
    for r in &rungs {
        let minutes = format!("about {:.0} minutes", planner::minutes(r.readings).ceil());
        let mark = if r.readings == own { format!("{minutes}: this list") } else { minutes };
        text += &line(r, &mark);
    }
    text += &line(&all, "every distance that there is");
    if let Some(least) = planner.least_rms_mm(own).filter(|least| *least > 0.0) {
        let over = 100.0 * (plan.predicted_rms_mm / least - 1.0).max(0.0);
        text += &format!(
            "No choice of {own} can leave less than {}; this one is within {:.0} % of that.\n",
            length(least, unit, 2),
            over.ceil()
        );
    }
    if edges > 0 {
        text += &format!(
            "The {edges} to the edges are counted in; they show height, tilt and offset of the beam.\n"
        );
    }
    if passes > 1 {
        let minutes = planner::minutes(passes * own).ceil();
        text += &format!(
            "Taken twice, as you asked, it needs about {minutes:.0} minutes and leaves a little less.\n"
        );
    }
    text += &format!(
        "Minutes: {} a reading and {} to begin, by common practice, no source. What the controller cannot hold\n\
         comes on top of all this; the report says how much that is.\n\n",
        planner::MINUTES_PER_READING,
        planner::MINUTES_TO_BEGIN
    );
    text
}

/// What the readings of a quick check mean.
pub const QUICK_MEANS: &str = "\
The report holds them against what machine.toml expects. If it finds that readings disagree, sets one aside or
names a cause far from expected, take the distances it names once more. If that stays, something has changed:
the chains, the sheet, the tape or a setting. Then cut a whole test (tautgrid prepare) and correct from that: six
readings are too few to correct from. If it finds nothing, a small change may still be there; one that is seen in
90 of 100 checks is unlikely. Height, tilt and offset of the beam do not show between holes.
";

/// What a quick check sees, and what it cannot.
///
/// # Errors
/// When the pattern has too few distances.
pub fn quick_words(
    check: &Quick,
    drift: &Values<f64>,
    settled: &Settled,
    tolerance_mm: f64,
) -> Result<String, Failure> {
    let (wanted, there) = (settled.request.readings, check.distances.len());
    if there < wanted {
        return Err(Failure::Plain(format!(
            "too few distances for a quick check: it needs {wanted}, and you can take {there} in this pattern. Take more holes"
        )));
    }
    let unit = settled.job.unit;
    let by = drift[Unknown::PitchLeft];
    let line = |times: f64, seen: String| {
        format!(
            "  {:>8.2} mm per m, {:>8} on the sheet (root mean square): {seen}\n",
            by * times,
            length(check.drift_rms_mm * times, unit, 2)
        )
    };
    let mut text = format!(
        "A quick check: is the machine still what machine.toml says? Of all sets of {wanted} distances that were tried, this\n\
         one sees most of a growth of both chains (each taken once, about {:.0} minutes):\n",
        planner::minutes(wanted).ceil()
    );
    text += &line(1.0, of_100(check.power));
    match check.counted_on {
        Some(times) => {
            text += &line(times, of_100(planner::COUNTED_ON));
            if check.drift_rms_mm * times > tolerance_mm {
                text += &format!(
                    "That is too blunt for a tolerance of {}: machine.toml does not hold the machine closely enough yet.\n\
                     Cut a whole test first (tautgrid prepare), and take over what it teaches (tautgrid correct).\n",
                    length(tolerance_mm, unit, 2)
                );
            }
        }
        None => text += "  These distances do not see such a growth at all.\n",
    }
    text += &format!(
        "A machine that has not changed is said to have in {:.0} of 100 checks. In a sheet that has holes already,\n\
         --shift puts these beside them.\n\n",
        100.0 * planner::LEVEL
    );
    Ok(text)
}

/// A chance in words.
fn of_100(chance: f64) -> String {
    match (100.0 * chance).round() {
        n if n >= 100.0 => "seen in more than 99 of 100 checks".to_owned(),
        n if n < 2.0 => "hardly ever seen".to_owned(),
        n => format!("seen in {n:.0} of 100 checks"),
    }
}
