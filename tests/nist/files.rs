//! Reads the certified files as the National Institute of Standards and Technology publishes them.

use std::path::Path;

/// One data set with its certified values.
pub struct Certified {
    pub name: String,
    /// Rows of the data block: response first, then the predictors.
    pub data: Vec<Vec<f64>>,
    /// Start values 1 and 2 (nonlinear files only), one per parameter.
    pub starts: [Vec<f64>; 2],
    pub parameters: Vec<f64>,
    pub standard_errors: Vec<f64>,
    pub sum_of_squares: f64,
}

/// Data begin on line 61 in every file.
const FIRST_DATA_LINE: usize = 61;

pub fn read(kind: &str, name: &str) -> Certified {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/nist-strd").join(kind).join(name);
    let text = std::fs::read_to_string(path.with_extension("dat")).expect("the file is in tests/reference");
    let mut certified = Certified {
        name: name.into(),
        data: text.lines().skip(FIRST_DATA_LINE - 1).map(numbers).filter(|row| !row.is_empty()).collect(),
        starts: [vec![], vec![]],
        parameters: vec![],
        standard_errors: vec![],
        sum_of_squares: f64::NAN,
    };
    for line in text.lines().take(FIRST_DATA_LINE - 1) {
        let values = numbers(line);
        match (parameter_index(line), values.as_slice()) {
            // b1 =  start 1, start 2, parameter, standard deviation
            (Some(_), &[start_1, start_2, parameter, standard_error]) => {
                certified.starts[0].push(start_1);
                certified.starts[1].push(start_2);
                certified.parameters.push(parameter);
                certified.standard_errors.push(standard_error);
            }
            // B0  parameter, standard deviation
            (Some(_), &[parameter, standard_error]) => {
                certified.parameters.push(parameter);
                certified.standard_errors.push(standard_error);
            }
            // "Residual Sum of Squares: S" or "Residual  degrees of freedom, S, mean square"
            (None, &[sum]) if line.starts_with("Residual Sum of Squares") => certified.sum_of_squares = sum,
            (None, &[_, sum, _]) if line.starts_with("Residual") => certified.sum_of_squares = sum,
            _ => {}
        }
    }
    assert!(
        !certified.parameters.is_empty() && certified.sum_of_squares.is_finite(),
        "{name}: not understood"
    );
    certified
}

fn numbers(line: &str) -> Vec<f64> {
    line.split_whitespace().filter_map(|word| word.parse().ok()).collect()
}

/// Lines of certified values begin with b or B and a number.
fn parameter_index(line: &str) -> Option<usize> {
    line.split_whitespace().next()?.strip_prefix(['b', 'B'])?.parse().ok()
}

/// Matching decimal digits, the log relative error of the field: -log10(|found - certified| / |certified|),
/// absolute where the certified value is nought, at most 15.
pub fn digits(found: f64, certified: f64) -> f64 {
    let error = (found - certified).abs() / if certified == 0.0 { 1.0 } else { certified.abs() };
    if error == 0.0 { 15.0 } else { (-error.log10()).min(15.0) }
}

/// The worst of [`digits`] over all parameters.
pub fn worst_digits<'a>(found: impl IntoIterator<Item = &'a f64>, certified: &[f64]) -> f64 {
    found.into_iter().zip(certified).map(|(f, c)| digits(*f, *c)).fold(15.0, f64::min)
}
