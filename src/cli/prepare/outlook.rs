//! What the planned readings will buy, and what more or fewer would.

use super::settle::{EDGE_READINGS, Settled, length};
use tautgrid::planner::{self, Plan, Planner, Rung};

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
