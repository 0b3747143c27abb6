//! The commented `machine.toml` that a new machine folder starts with.

use crate::frame::Unit;

/// The numbers of a template, as written in its file.
struct Numbers {
    unit: &'static str,
    width: &'static str,
    height: &'static str,
    spacing: &'static str,
    beam: &'static str,
    expected: [&'static str; 5],
    teeth: &'static str,
    pitch: &'static str,
    chain: &'static str,
    apart: &'static str,
    above: &'static str,
    scatter: &'static str,
    tolerance: &'static str,
    tape: &'static str,
    caliper: &'static str,
}

/// A metric full sheet, and a light chain of 8 mm pitch.
const MM: Numbers = Numbers {
    unit: "\"mm\"",
    width: "2500.0",
    height: "1250.0",
    spacing: "3300.0",
    beam: "520.0",
    // spacing, height, offset, length_left, length_right
    expected: ["2.0", "3.0", "3.0", "3.0", "3.0"],
    teeth: "12",
    pitch: "8.0",
    chain: "0.18",
    apart: "250.0",
    above: "80.0",
    scatter: "0.25",
    tolerance: "0.8",
    tape: "[0.3, 0.1]",
    caliper: "[0.05, 0.0]",
};

/// A full sheet of 8 by 4 feet, and a light chain of 1/4 inch pitch.
const INCH: Numbers = Numbers {
    unit: "\"inch\"",
    width: "96.0",
    height: "48.0",
    spacing: "130.0",
    beam: "20.0",
    expected: ["0.08", "0.12", "0.12", "0.12", "0.12"],
    teeth: "12",
    pitch: "0.25",
    chain: "0.125",
    apart: "10.0",
    above: "3.0",
    scatter: "0.01",
    tolerance: "0.032",
    tape: "[0.012, 0.1]",
    caliper: "[0.002, 0.0]",
};

/// A commented `machine.toml` for a machine of that name, in either unit, to be filled in by its owner.
pub fn template(name: &str, unit: Unit) -> String {
    let n = match unit {
        Unit::Mm => MM,
        Unit::Inch => INCH,
    };
    let name = toml::Value::from(name);
    let [u_spacing, u_height, u_offset, u_left, u_right] = n.expected;
    let Numbers {
        unit,
        width,
        height,
        spacing,
        beam,
        teeth,
        pitch,
        chain,
        apart,
        above,
        scatter,
        tolerance,
        tape,
        caliper,
        ..
    } = n;
    format!(
        r#"# The machine. Put in your own numbers; what stands here is an example.
# After a change run: tautgrid check
#
# WARNING: a carriage that comes off its chains falls. Prop it before you touch chain, sprocket or motor,
#          and unplug router and machine before you measure on it.
# CAUTION: sprockets pinch fingers. Never turn a motor with a hand near its chain.
# The manuals of machine and router and local rules come first where they differ from this file.

format = 1
name = {name}
unit = {unit:<26}# of every length in this file: "mm" or "inch"; ratios stay in mm/m

[sheet]                          # as it hangs on the machine, seen from the front
width = {width}
height = {height}

[settings]                       # what the controller believes now: copy its own numbers, do not tape them
spacing = {spacing:<23}# sprocket axis to sprocket axis
height = {beam:<24}# line through both sprocket axes above the sheet's top edge, in the middle
tilt = 0.0                       # right end of the beam higher, mm/m
offset = 0.0                     # middle of the beam right of the middle of the sheet
length_left = 0.0                # left chain longer than the controller thinks
length_right = 0.0
pitch_left = 0.0                 # left chain longer per metre paid out, mm/m
pitch_right = 0.0
stretch = 0.0                    # mm/m per 100 N
sag = false                      # true if the controller allows for the chains' sag

# What you know of the real machine before any test cut. value = what you taped (left out: the setting above),
# u = how far off it may well be: two times in three the truth lies within u (left out: the number below).
#   spacing  tape from the left flank of one sprocket shaft to the left flank of the other; twice, each way
#   height   level line or straightedge over both shafts, down to the sheet's edge, at the middle of the sheet
#   tilt     height at both ends; difference over the distance between, in mm per m
#   offset   plumb from each shaft, then to the sheet's side edge; half of right less left
#   length   what a mislaid reference link may cost; a skipped tooth costs one pitch
#   pitch    new chain may be up to 1.5 mm/m long (ISO 606); a worn one more
[expected]
spacing = {{ u = {u_spacing} }}
height = {{ u = {u_height} }}
tilt = {{ u = 1.0 }}
offset = {{ u = {u_offset} }}
length_left = {{ u = {u_left} }}
length_right = {{ u = {u_right} }}
pitch_left = {{ u = 1.0 }}
pitch_right = {{ u = 1.0 }}
stretch = {{ value = 0.35, u = 0.35 }}

[drive]
teeth = {teeth:<25}# count them, on both sprockets
pitch = {pitch:<25}# roller to roller: measure over ten links and divide
chain_leaves = "over"            # or "under": the side of the sprocket on which the chain goes to the carriage

[chain]
mass = {chain:<26}# kg per metre: weigh a spare length, or see the maker's list

[carriage]
mass = 13.0                      # kg, with router, bit and hose as when cutting
lean = 12.0                      # degrees from the vertical
attachment = "converging"        # the lines of both chains meet at the bit; "apart" if each has a pivot of its own:
# apart = {apart:<23}# pivot to pivot, axis to axis
# above = {above:<23}# line of the pivots above the bit; negative if below it
# mass_above = 0.0               # the sled's centre of mass above the bit; negative if below it. The bit, if left out

[controller]
# The settings that your controller can store.
can_set = ["spacing", "height", "length_left", "length_right", "pitch_left", "pitch_right"]

[scatter]
hole = {scatter:<26}# how far a hole lands from where it landed last time, per axis (1 sigma)

[tolerance]
position = {tolerance:<22}# the limit your work needs, anywhere on the sheet

# Instruments; readings that name none were taken with the first.
#   class    printed on a tape: I, II or III; sets how far its whole scale may be off
#   random   [a, b]: a reading of length L scatters by sqrt(a^2 + (b L)^2); b in mm per m
#   optional: scale_u (mm/m) in place of the class, range = longest reading,
#             zero_u for a worn hook (counts only for readings that began at the hook),
#             start = the mark that you lay on the first hole in place of the hook, taken off each reading
[[instrument]]
name = "tape"
kind = "tape"                    # tape, caliper or other
class = "II"
random = {tape}

[[instrument]]
name = "caliper"
kind = "caliper"
random = {caliper}
"#
    )
}
