//! The shelf: every book, paper and standard that a formula of this crate comes from.
//!
//! Formulas cite these by name and section, and keep their symbols.

/// Åke Björck, *Numerical Methods for Least Squares Problems*, SIAM, 1996.
pub const BJORCK_1996: &str = "Björck, Numerical Methods for Least Squares Problems, SIAM 1996";
/// Willem Baarda, *A Testing Procedure for Use in Geodetic Networks*, Netherlands Geodetic Commission, Publications on
/// Geodesy 2(5), 1968: standardised residuals, redundancy numbers, the smallest error that can be found.
pub const BAARDA_1968: &str = "Baarda, A Testing Procedure for Use in Geodetic Networks, 1968";
/// Brian D. O. Anderson and John B. Moore, *Optimal Filtering*, Prentice-Hall, 1979: square-root filters (section 6.5).
pub const ANDERSON_MOORE_1979: &str = "Anderson and Moore, Optimal Filtering, 1979";
/// A. C. Atkinson, A. N. Donev, R. D. Tobias, *Optimum Experimental Designs, with SAS*, Oxford, 2007: criteria, exchange.
pub const ATKINSON_2007: &str = "Atkinson, Donev and Tobias, Optimum Experimental Designs, with SAS, 2007";
/// Carl de Boor, *A Practical Guide to Splines*, Springer, revised edition 2001: broken-line interpolation (chapter III).
pub const DE_BOOR_2001: &str = "de Boor, A Practical Guide to Splines, 2001";
/// James Durbin and Siem Jan Koopman, *Time Series Analysis by State Space Methods*, Oxford, 2nd edition, 2012.
pub const DURBIN_KOOPMAN_2012: &str =
    "Durbin and Koopman, Time Series Analysis by State Space Methods, 2nd ed., 2012";
/// Gerald Farin, *Curves and Surfaces for CAGD*, Morgan Kaufmann, 5th edition, 2002: Bernstein form, convex hulls.
pub const FARIN_2002: &str = "Farin, Curves and Surfaces for CAGD, 2002";
/// Valeri V. Fedorov, *Theory of Optimal Experiments*, Academic Press, 1972.
pub const FEDOROV_1972: &str = "Fedorov, Theory of Optimal Experiments, 1972";
/// Estimating the sizes of several kinds of observation error from their own residuals.
pub const FOERSTNER_1979: &str = "Förstner, Allgemeine Vermessungs-Nachrichten 86 (1979) 446; from memory";
/// Gene H. Golub and Victor Pereyra, *The differentiation of pseudo-inverses and nonlinear least squares problems whose
/// variables separate*, SIAM J. Numer. Anal. 10 (1973) 413.
pub const GOLUB_PEREYRA_1973: &str = "Golub and Pereyra, SIAM J. Numer. Anal. 10 (1973) 413";
/// Andreas Griewank and Andrea Walther, *Evaluating Derivatives*, SIAM, 2nd edition, 2008: forward-mode differentiation.
pub const GRIEWANK_2008: &str = "Griewank and Walther, Evaluating Derivatives, 2008";
/// JCGM 100:2008, *Guide to the expression of uncertainty in measurement* (GUM).
pub const GUM: &str = "JCGM 100:2008, Guide to the expression of uncertainty in measurement";
/// JCGM 101:2008, *Propagation of distributions using a Monte Carlo method*.
pub const JCGM_101: &str = "JCGM 101:2008, Propagation of distributions using a Monte Carlo method";
/// Peter J. Huber and Elvezio M. Ronchetti, *Robust Statistics*, Wiley, 2nd edition, 2009.
pub const HUBER_2009: &str = "Huber and Ronchetti, Robust Statistics, 2009";
/// H. Max Irvine, *Cable Structures*, MIT Press, 1981: the elastic catenary (section 1.4).
pub const IRVINE_1981: &str = "Irvine, Cable Structures, MIT Press 1981";
/// ISO 606, *Short-pitch transmission precision roller and bush chains, attachments and associated chain sprockets*.
pub const ISO_606: &str = "ISO 606, Short-pitch transmission precision roller and bush chains";
/// Gene H. Golub and Charles F. Van Loan, *Matrix Computations*, 4th edition, Johns Hopkins, 2013.
pub const GOLUB_VAN_LOAN_2013: &str = "Golub and Van Loan, Matrix Computations, 4th ed., 2013";
/// ISO 14253-1, *Decision rules for verifying conformity or nonconformity with specifications*.
pub const ISO_14253: &str = "ISO 14253-1, Decision rules for verifying conformity or nonconformity";
/// Thomas Kailath, Ali H. Sayed and Babak Hassibi, *Linear Estimation*, Prentice Hall, 2000: array algorithms (chapter 12).
pub const KAILATH_2000: &str = "Kailath, Sayed and Hassibi, Linear Estimation, 2000";
/// Linda Kaufman, *A variable projection method for solving separable nonlinear least squares problems*, BIT 15 (1975) 49.
pub const KAUFMAN_1975: &str = "Kaufman, BIT 15 (1975) 49";
/// Directive 2014/32/EU, Annex X (MI-008), material measures of length: classes of tapes.
pub const MI_008: &str = "Directive 2014/32/EU, Annex X (MI-008)";
/// Jorge J. Moré, *The Levenberg-Marquardt algorithm: implementation and theory*, Lecture Notes in Mathematics 630 (1978).
pub const MORE_1978: &str = "Moré, Lecture Notes in Mathematics 630 (1978) 105";
/// T. R. Kramer, F. M. Proctor, E. Messina, *The NIST RS274/NGC Interpreter, Version 3*, NISTIR 6556, 2000.
pub const NIST_IR_6556: &str =
    "Kramer, Proctor and Messina, NISTIR 6556, The NIST RS274/NGC Interpreter, 2000";
/// H. E. Rauch, F. Tung, C. T. Striebel, *Maximum likelihood estimates of linear dynamic systems*, AIAA Journal 3 (1965) 1445.
pub const RTS_1965: &str = "Rauch, Tung and Striebel, AIAA Journal 3 (1965) 1445";
/// C. R. Rao, *Large sample tests of statistical hypotheses concerning several parameters*, Proc. Cambridge Philos. Soc.
/// 44 (1948) 50: the score test.
pub const RAO_1948: &str = "Rao, Proc. Cambridge Philos. Soc. 44 (1948) 50";
/// Yiyuan She and Art B. Owen, *Outlier detection using nonconvex penalized regression*, J. Am. Stat. Assoc. 106 (2011) 626.
pub const SHE_OWEN_2011: &str = "She and Owen, J. Am. Stat. Assoc. 106 (2011) 626";
/// M. A. Stephens, *Use of the Kolmogorov-Smirnov, Cramér-von Mises and related statistics without extensive tables*,
/// J. R. Stat. Soc. B 32 (1970) 115.
pub const STEPHENS_1970: &str = "Stephens, J. R. Stat. Soc. B 32 (1970) 115";
/// Harry L. Van Trees, *Detection, Estimation, and Modulation Theory*, part I, Wiley, 1968: the Cramér-Rao bound of
/// random unknowns (section 2.4).
pub const VAN_TREES_1968: &str = "Van Trees, Detection, Estimation, and Modulation Theory I, 1968";
/// *NIST/SEMATECH e-Handbook of Statistical Methods*, chapter 6: control charts.
pub const NIST_HANDBOOK: &str = "NIST/SEMATECH e-Handbook of Statistical Methods";
/// Douglas C. Montgomery, *Introduction to Statistical Quality Control*, Wiley, 7th edition, 2012: run lengths.
pub const MONTGOMERY_2012: &str = "Montgomery, Introduction to Statistical Quality Control, 2012";
/// ILAC-G24:2022 / OIML D 10:2022, *Guidelines for the determination of recalibration intervals of measuring equipment*.
pub const ILAC_G24: &str = "ILAC-G24 / OIML D 10, recalibration intervals; from memory";
