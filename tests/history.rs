//! The months: joint estimates held against the truth of simulated machines, and the command on the demo's folder.
//!
//! The filter and smoother underneath are held against statsmodels, the charts against the NIST/SEMATECH handbook
//! (tests/reference/README.md). Here it is asked whether the whole is honest: machines wear, warm up and are read with
//! one tape, and every interval must hold the truth about as often as it says.

use assert_cmd::Command;
use jiff::civil::{Date, date};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;
use serde_json::Value;
use std::path::Path;
use tautgrid::analysis::{self, analyse};
use tautgrid::cut::Conditions;
use tautgrid::difference::Change;
use tautgrid::events::{Event, Kind};
use tautgrid::frame::Point;
use tautgrid::history::{Context, Discord, Entry, History, between, history};
use tautgrid::machine::{Unknown, Values};
use tautgrid::pattern::Pattern;
use tautgrid::planner::{Planned, Request, plan};
use tautgrid::setup::Setup;
use tautgrid::simulation::{Disturbance, cut_and_read_with, draw_machine};

const PATTERN: Pattern = Pattern {
    columns: 7,
    rows: 5,
    width_mm: 2300.0,
    height_mm: 1050.0,
    centre: Point { x_mm: 0.0, y_mm: 0.0 },
    hole_diameter_mm: 6.0,
    key: true,
};
const START: Date = date(2025, 2, 1);
const STEEL_PER_KELVIN: f64 = 0.0115;

/// A cut of a machine on a day, read with a tape of a known error.
struct Workshop<'a> {
    setup: &'a Setup,
    distances: &'a [Planned],
    tape: f64,
}

impl Workshop<'_> {
    fn cut(&self, month: u32, truth: Values<f64>, temperature: f64, seed: u64) -> Entry {
        let day = START.saturating_add(jiff::Span::new().days(i64::from(month) * 30));
        let mut warm = truth;
        for pitch in [Unknown::PitchLeft, Unknown::PitchRight] {
            warm[pitch] += STEEL_PER_KELVIN * (temperature - 20.0);
        }
        let disturbance = Disturbance { noise: true, rounding_mm: 0.0, seed };
        let errors: Vec<(f64, f64)> = self.setup.instruments.iter().map(|_| (self.tape, 0.0)).collect();
        let holes = PATTERN.holes();
        let simulated =
            cut_and_read_with(self.setup, warm, &holes, self.distances, &disturbance, Some(&errors)).unwrap();
        let id = day.to_string();
        let input = analysis::Cut {
            id: &id,
            setup: self.setup,
            pattern: &PATTERN,
            readings: &simulated.readings,
            blank: 0,
        };
        let conditions = Conditions { temperature_c: Some(temperature), ..Conditions::default() };
        let context = Context { date: day, conditions: &conditions, setup: self.setup };
        Entry::of(&analyse(&input).unwrap(), &context)
    }

    /// Monthly cuts of a machine whose pitches grow.
    fn months(
        &self,
        count: u32,
        truth: Values<f64>,
        growth: [f64; 2],
        seed: u64,
    ) -> (Vec<Entry>, Values<f64>) {
        let at = |month: u32| {
            let mut then = truth;
            // Months of the log are 30 days, those of the growth an average month.
            let months = f64::from(month) * 30.0 / tautgrid::history::DAYS_A_MONTH;
            then[Unknown::PitchLeft] += growth[0] * months;
            then[Unknown::PitchRight] += growth[1] * months;
            then
        };
        let warmth = |month: u32| 18.0 + 7.0 * (f64::from(month) * std::f64::consts::FRAC_PI_6 + 3.5).cos();
        let entries = (0..count).map(|m| self.cut(m, at(m), warmth(m), seed + u64::from(m))).collect();
        (entries, at(count - 1))
    }
}

fn usual() -> (Setup, Vec<Planned>) {
    let setup = Setup::example();
    let distances = plan(&setup, &PATTERN.holes(), &Request::default()).unwrap().distances;
    // Tape only: the caliper shares none of the tape's error here.
    let taped = distances.into_iter().map(|d| Planned { instrument: 0, ..d }).collect();
    (setup, taped)
}

fn of(setup: &Setup, entries: Vec<Entry>, events: &[Event]) -> History {
    let today = entries.last().unwrap().date;
    history(setup, entries, events, today)
}

/// Thirty machines of seven cuts: growths, pitches and lengths against their 95 % intervals, and the squared error in its own
/// covariance-free form; no cut may be called odd, nearly none changed that only wore.
#[test]
fn intervals_of_the_joint_estimate_hold_the_truth() {
    let (setup, distances) = usual();
    let results: Vec<(usize, usize, usize, f64, f64)> = (0..30u64)
        .into_par_iter()
        .map(|k| {
            let mut rng = Pcg64Mcg::seed_from_u64(900 + k);
            let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
            let tape = setup.instruments[0].scale_u_mm_per_m * normal();
            let growth = [0.1 * normal(), 0.1 * normal()];
            let workshop = Workshop { setup: &setup, distances: &distances, tape };
            let (entries, last) = workshop.months(7, draw_machine(&setup, 5000 + k), growth, 100 * k);
            let alone = entries.last().unwrap().unknowns;
            let h = of(&setup, entries, &[]);
            let wear = h.wear.as_ref().unwrap();
            let odd = wear.at.iter().filter(|a| a.discord.is_some()).count();
            let at = &wear.at.last().unwrap().unknowns;
            let mut inside = 0;
            let mut all = 0;
            let mut count = |value: f64, u: f64, truth: f64| {
                inside += usize::from((value - truth).abs() < 1.96 * u);
                all += 1;
            };
            for (g, truth) in wear.growth.iter().zip(growth) {
                count(g.per_month.value, g.per_month.u, truth);
            }
            for u in [Unknown::PitchLeft, Unknown::PitchRight, Unknown::LengthLeft, Unknown::LengthRight] {
                count(at[u].value, at[u].u, last[u]);
            }
            (inside, all, odd, at[Unknown::LengthLeft].u, alone[Unknown::LengthLeft].u)
        })
        .collect();
    let sum = |f: fn(&(usize, usize, usize, f64, f64)) -> usize| results.iter().map(f).sum::<usize>();
    let (inside, all, odd) = (sum(|r| r.0), sum(|r| r.1), sum(|r| r.2));
    let share = inside as f64 / all as f64;
    let gain = results.iter().map(|r| r.3 / r.4).sum::<f64>() / results.len() as f64;
    println!(
        "95 % intervals hold {inside} of {all} ({share:.3}); odd cuts {odd} of 210; length u all/last {gain:.2}"
    );
    // 180 intervals, correlated within a machine: the standard error is about 0.02.
    assert!((0.90..=0.995).contains(&share), "{share}");
    assert!(odd <= 1, "{odd}");
    // All cuts together know more than the last alone.
    assert!(gain < 0.8, "{gain}");
}

/// A re-hung chain that is written down moves its length and nothing else; one that is not is found as a change, and a cut with
/// another setting than written stands alone.
#[test]
fn what_was_done_is_told_from_wear() {
    let (setup, distances) = usual();
    let workshop = Workshop { setup: &setup, distances: &distances, tape: 0.08 };
    let mut truth = Values::from_fn(|u| setup.settings[u]);
    truth[Unknown::PitchLeft] = 0.4;
    let mut re_hung = truth;
    re_hung[Unknown::LengthLeft] += 4.0;
    let cuts = |at: &dyn Fn(u32) -> Values<f64>| -> Vec<Entry> {
        (0..6).map(|m| workshop.cut(m, at(m), 20.0, 40 + u64::from(m))).collect()
    };
    let note = Event::noted(START.saturating_add(jiff::Span::new().days(75)), "", Kind::ReHung, "left chain");

    let written = of(&setup, cuts(&|m| if m < 3 { truth } else { re_hung }), &[note]);
    let wear = written.wear.as_ref().unwrap();
    assert!(wear.at.iter().all(|a| a.discord.is_none()));
    assert_eq!((written.marks.len(), written.marks[0].before), (1, 3));
    let length = |k: usize| wear.at[k].unknowns[Unknown::LengthLeft].value;
    assert!((length(5) - length(0) - 4.0).abs() < 0.8, "{} {}", length(0), length(5));
    assert!(wear.growth.iter().all(|g| !g.seen));

    let unwritten = of(&setup, cuts(&|m| if m < 3 { truth } else { re_hung }), &[]);
    assert_eq!(unwritten.wear.as_ref().unwrap().at[3].discord, Some(Discord::Changed));
    let map = |h: &History, a, b| between(&setup, h, a, b).unwrap().map.answer;
    assert_eq!(map(&unwritten, 2, 3), Some(Change::Changed));
    assert_eq!(map(&unwritten, 0, 2), Some(Change::Unchanged));

    let alone = of(&setup, cuts(&|m| if m == 3 { re_hung } else { truth }), &[]);
    let discords: Vec<_> = alone.wear.as_ref().unwrap().at.iter().map(|a| a.discord).collect();
    assert_eq!(discords, [None, None, None, Some(Discord::Alone), None, None]);

    let last = of(&setup, cuts(&|m| if m == 5 { re_hung } else { truth }), &[]);
    assert_eq!(last.wear.as_ref().unwrap().at[5].discord, Some(Discord::Undecided));
}

/// Two cuts of one machine are called changed about as seldom as stated (5 of 100), and the shared tape cancels.
#[test]
fn nothing_changed_is_seldom_called_a_change() {
    let (setup, distances) = usual();
    let called: usize = (0..40u64)
        .into_par_iter()
        .map(|k| {
            let mut rng = Pcg64Mcg::seed_from_u64(77 + k);
            let tape = 0.12 * Distribution::<f64>::sample(&StandardNormal, &mut rng);
            let workshop = Workshop { setup: &setup, distances: &distances, tape };
            let truth = draw_machine(&setup, 7000 + k);
            let entries = (0..2).map(|m| workshop.cut(m, truth, 20.0, 2 * k + u64::from(m))).collect();
            let h = of(&setup, entries, &[]);
            assert!(h.comparisons[0].same_tape);
            usize::from(h.comparisons[0].map.answer != Some(Change::Unchanged))
        })
        .sum();
    println!("called a change: {called} of 40");
    // Expected 2; 8 or more has a chance of under 0.2 %.
    assert!(called <= 7, "{called}");
}

fn run(folder: &Path, args: &[&str]) -> (String, Option<i32>) {
    let output =
        Command::new(env!("CARGO_BIN_EXE_tautgrid")).current_dir(folder).args(args).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
    (text, output.status.code())
}

/// The demo's months by way of the commands: the table, the page, the export, two cuts compared, what is kept.
#[test]
fn the_command_on_the_demo() {
    let home = tempfile::tempdir().unwrap();
    let (text, code) = run(home.path(), &["demo", "shop", "--months", "8"]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("The truth beside the estimate"), "{text}");
    let shop = home.path().join("shop");
    for file in ["history.html", "history.csv", "events.csv", "machine.toml"] {
        assert!(shop.join(file).is_file(), "{file}");
    }
    let (first, _) = run(&shop, &["history", "--json"]);
    let json: Value = serde_json::from_str(&first).unwrap();
    let cuts = json["cuts"].as_array().unwrap();
    assert_eq!(cuts.len(), 7);
    assert_eq!(json["growth"].as_array().unwrap().len(), 2);
    // What is kept gives the same answer, and so does no such file, or a broken one.
    std::fs::write(shop.join(".history-kept.json"), "{").unwrap();
    for what in ["nothing kept", "all kept"] {
        assert!(run(&shop, &["history", "--json"]).0 == first, "another answer with {what}");
    }
    let (a, b) = (cuts[0]["cut"].as_str().unwrap(), cuts[1]["cut"].as_str().unwrap());
    let (text, code) = run(&shop, &["history", "--between", b, a]);
    assert!(code == Some(0) && text.contains("same tape") && text.contains("scale x"), "{text}");
    let (text, code) = run(&shop, &["history", "--between", a, "2001-01-01"]);
    assert!(code == Some(2) && text.contains("there is no cut 2001-01-01"), "{text}");
    // A cut that cannot be read is named and left out; one without readings is passed over.
    std::fs::write(shop.join("cuts").join(a).join("readings.csv"), "from,to,reading\nA1,G5,abc\n").unwrap();
    std::fs::write(shop.join("cuts").join(b).join("readings.csv"), "from,to,reading\nA1,G5,\n").unwrap();
    let (text, _) = run(&shop, &["history"]);
    assert!(text.contains("abc") && text.contains("1 of 7 cuts are left out"), "{text}");
    let csv = std::fs::read_to_string(shop.join("history.csv")).unwrap();
    assert!(csv.lines().skip(1).all(|line| !line.contains(a) && !line.contains(b)));
    assert!(csv.contains("all cuts"));
    let (text, code) = run(home.path(), &["history"]);
    assert!(code == Some(2) && text.contains("machine.toml"), "{text}");
}
