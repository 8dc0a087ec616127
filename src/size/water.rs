//! Properties of liquid water. In: temperature and absolute pressure. Out: density, viscosity, heat
//! capacity, conductivity, saturation pressure.
//!
//! Sources: IAPWS-IF97 (revised release of August 2007), region 1 in full and equation 30; IAPWS
//! releases on viscosity (2008, without the critical term) and thermal conductivity (2011, in the
//! form for industrial use).

use libm::{atan, exp, pow};

const KELVIN: f64 = 273.15;
/// Specific gas constant of IF97, kJ/(kg K).
const R: f64 = 0.461_526;
const T_CRITICAL: f64 = 647.096;
const P_CRITICAL: f64 = 22.064;
const RHO_CRITICAL: f64 = 322.0;
/// Coldest and hottest water that is ever asked for, degrees C; beyond, the end is taken.
const RANGE: (f64, f64) = (0.01, 180.0);

/// What the sums need of a liquid at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Properties {
    /// Density, kg/m3.
    pub rho: f64,
    /// Dynamic viscosity, mPa s.
    pub mu: f64,
    /// Heat capacity at constant pressure, J/(kg K).
    pub cp: f64,
    /// Thermal conductivity, W/(m K).
    pub k: f64,
}

impl Properties {
    /// Kinematic viscosity, m2/s.
    pub fn nu(&self) -> f64 {
        self.mu * 1e-3 / self.rho
    }

    /// Heat carried by a litre for each kelvin, kJ/(l K).
    pub fn heat_per_litre(&self) -> f64 {
        self.rho * self.cp * 1e-6
    }
}

/// Water at `celsius` and `mpa` absolute, where it is liquid.
pub fn water_at(celsius: f64, mpa: f64) -> Properties {
    let t = celsius.clamp(RANGE.0, RANGE.1) + KELVIN;
    let g = region_1(t, mpa);
    Properties { rho: g.rho, mu: viscosity(g.rho, t), cp: g.cp * 1000.0, k: conductivity(&g, t) }
}

/// Water at `celsius` under the 3 bar absolute of an ordinary system.
pub fn water(celsius: f64) -> Properties {
    water_at(celsius, 0.3)
}

/// Density of water at `celsius` and `mpa` absolute, kg/m3.
pub fn density(celsius: f64, mpa: f64) -> f64 {
    region_1(celsius.clamp(RANGE.0, RANGE.1) + KELVIN, mpa).rho
}

/// By what share a mass of water grows from `cold` to `hot` degrees C, at 1 bar absolute.
pub fn expansion(cold: f64, hot: f64) -> f64 {
    density(cold, PRESSURE_OF_TABLE) / density(hot, PRESSURE_OF_TABLE) - 1.0
}

/// Expansion is reckoned near 1 bar absolute, as published tables are; at 100 degrees C the water
/// must still be liquid.
const PRESSURE_OF_TABLE: f64 = 0.1015;

/// Pressure at which water boils at `celsius`, bar absolute (IF97 equation 30).
pub fn saturation_pressure(celsius: f64) -> f64 {
    let t = celsius.clamp(RANGE.0, RANGE.1) + KELVIN;
    let theta = t - 0.238_555_575_678_49 / (t - 650.175_348_447_98);
    let a = theta * theta + 1_167.052_145_276_7 * theta - 724_213.167_032_06;
    let b = -17.073_846_940_092 * theta * theta + 12_020.824_702_470 * theta - 3_232_555.032_233_3;
    let c = 14.915_108_613_530 * theta * theta - 4_823.265_736_159_1 * theta + 405_113.405_420_57;
    let root = 2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt());
    10.0 * root * root * root * root
}

struct Gibbs {
    rho: f64,
    /// kJ/(kg K).
    cp: f64,
    cv: f64,
    /// Change of density with pressure at constant temperature, kg/(m3 MPa).
    drho_dp: f64,
}

/// Equation 7 of IF97 and its derivatives.
fn region_1(t: f64, p: f64) -> Gibbs {
    let pi = p / 16.53;
    let tau = 1386.0 / t;
    let (a, b) = (7.1 - pi, tau - 1.222);
    let (mut gp, mut gpp, mut gtt, mut gpt) = (0.0, 0.0, 0.0, 0.0);
    for &(i, j, n) in &REGION_1 {
        let (fi, fj) = (f64::from(i), f64::from(j));
        let term = n * power(a, i) * power(b, j);
        gp -= term * fi / a;
        gpp += term * fi * (fi - 1.0) / (a * a);
        gtt += term * fj * (fj - 1.0) / (b * b);
        gpt -= term * fi * fj / (a * b);
    }
    let volume = pi * gp * R * t / p / 1000.0;
    let cp = -R * tau * tau * gtt;
    let lean = gp - tau * gpt;
    let cv = R * (-tau * tau * gtt + lean * lean / gpp);
    let compressibility = -pi * gpp / gp / p;
    Gibbs { rho: 1.0 / volume, cp, cv, drho_dp: compressibility / volume }
}

/// Whole powers by squaring: the same bits on every machine.
fn power(base: f64, exponent: i32) -> f64 {
    let (mut result, mut square, mut left) = (1.0, base, exponent.unsigned_abs());
    while left > 0 {
        if left & 1 == 1 {
            result *= square;
        }
        square *= square;
        left >>= 1;
    }
    if exponent < 0 { 1.0 / result } else { result }
}

/// IAPWS 2008, without the critical term; mPa s.
fn viscosity(rho: f64, t: f64) -> f64 {
    const H0: [f64; 4] = [1.67752, 2.20462, 0.636_656_4, -0.241_605];
    const H1: [(i32, i32, f64); 21] = [
        (0, 0, 0.520_094),
        (1, 0, 0.085_089_5),
        (2, 0, -1.08374),
        (3, 0, -0.289_555),
        (0, 1, 0.222_531),
        (1, 1, 0.999_115),
        (2, 1, 1.88797),
        (3, 1, 1.26613),
        (5, 1, 0.120_573),
        (0, 2, -0.281_378),
        (1, 2, -0.906_851),
        (2, 2, -0.772_479),
        (3, 2, -0.489_837),
        (4, 2, -0.257_040),
        (0, 3, 0.161_913),
        (1, 3, 0.257_399),
        (0, 4, -0.032_537_2),
        (3, 4, 0.069_845_2),
        (4, 5, 0.008_721_02),
        (3, 6, -0.004_356_73),
        (5, 6, -0.000_593_264),
    ];
    let tr = t / T_CRITICAL;
    let dr = rho / RHO_CRITICAL;
    let below: f64 = (0..4).map(|i| H0[i as usize] / power(tr, i)).sum();
    let sum: f64 =
        H1.iter().map(|&(i, j, h)| power(1.0 / tr - 1.0, i) * h * power(dr - 1.0, j)).sum();
    100.0 * tr.sqrt() / below * exp(dr * sum) * 1e-3
}

/// IAPWS 2011, form for industrial use, for densities above 600 kg/m3; W/(m K).
fn conductivity(g: &Gibbs, t: f64) -> f64 {
    const L0: [f64; 5] = [2.443_221e-3, 1.323_095e-2, 6.770_357e-3, -3.454_586e-3, 4.096_266e-4];
    const L1: [[f64; 6]; 5] = [
        [
            1.603_973_57,
            -0.646_013_523,
            0.111_443_906,
            0.102_997_357,
            -0.050_412_363_4,
            0.006_098_592_58,
        ],
        [
            2.337_718_42,
            -2.788_437_78,
            1.536_161_67,
            -0.463_045_512,
            0.083_282_701_9,
            -0.007_192_012_45,
        ],
        [2.196_505_29, -4.545_807_85, 3.557_772_44, -1.409_449_78, 0.275_418_278, -0.020_593_881_6],
        [-1.210_513_78, 1.608_129_89, -0.621_178_141, 0.071_637_322_4, 0.0, 0.0],
        [-2.720_337_0, 4.575_863_31, -3.183_692_45, 1.116_834_8, -0.192_683_05, 0.012_913_842],
    ];
    const A: [f64; 6] = [
        1.119_999_264_199_94,
        0.595_748_562_571_649,
        9.889_525_650_789_20,
        -10.325_505_114_704_0,
        4.668_612_944_574_14,
        -0.503_243_546_373_828,
    ];
    let tr = t / T_CRITICAL;
    let dr = g.rho / RHO_CRITICAL;
    let below: f64 = (0..5).map(|i| L0[i as usize] / power(tr, i)).sum();
    let mut sum = 0.0;
    for (i, row) in (0_i32..).zip(&L1) {
        let inner: f64 = (0_i32..).zip(row).map(|(j, n)| n * power(dr - 1.0, j)).sum();
        sum += power(1.0 / tr - 1.0, i) * inner;
    }
    let background = tr.sqrt() / below * exp(dr * sum);

    let zeta_reference = 1.0 / (0_i32..).zip(&A).map(|(i, a)| a * power(dr, i)).sum::<f64>();
    let zeta = P_CRITICAL / RHO_CRITICAL * g.drho_dp;
    let lack = (dr * (zeta - zeta_reference * 1.5 / tr)).max(0.0);
    let y = 0.13 * pow(lack / 0.06, 0.63 / 1.239) / 0.4;
    let critical = if y < 1.2e-7 {
        0.0
    } else {
        let ratio = g.cv / g.cp;
        let z = 2.0 / (std::f64::consts::PI * y)
            * (((1.0 - ratio) * atan(y) + ratio * y)
                - (1.0 - exp(-1.0 / (1.0 / y + y * y / (3.0 * dr * dr)))));
        177.8514 * dr * g.cp / 0.461_518_05 * tr / (viscosity(g.rho, t) * 1e3) * z
    };
    (background + critical) * 1e-3
}

/// I, J, n of IF97, table 2.
const REGION_1: [(i32, i32, f64); 34] = [
    (0, -2, 0.14632971213167),
    (0, -1, -0.84548187169114),
    (0, 0, -3.756360367204),
    (0, 1, 3.3855169168385),
    (0, 2, -0.95791963387872),
    (0, 3, 0.15772038513228),
    (0, 4, -0.016616417199501),
    (0, 5, 0.00081214629983568),
    (1, -9, 0.00028319080123804),
    (1, -7, -0.00060706301565874),
    (1, -1, -0.018990068218419),
    (1, 0, -0.032529748770505),
    (1, 1, -0.021841717175414),
    (1, 3, -5.283835796993e-05),
    (2, -3, -0.00047184321073267),
    (2, 0, -0.00030001780793026),
    (2, 1, 4.7661393906987e-05),
    (2, 3, -4.4141845330846e-06),
    (2, 17, -7.2694996297594e-16),
    (3, -4, -3.1679644845054e-05),
    (3, 0, -2.8270797985312e-06),
    (3, 6, -8.5205128120103e-10),
    (4, -5, -2.2425281908e-06),
    (4, -2, -6.5171222895601e-07),
    (4, 10, -1.4341729937924e-13),
    (5, -8, -4.0516996860117e-07),
    (8, -11, -1.2734301741641e-09),
    (8, -6, -1.7424871230634e-10),
    (21, -29, -6.8762131295531e-19),
    (23, -31, 1.4478307828521e-20),
    (29, -38, 2.6335781662795e-23),
    (30, -39, -1.1947622640071e-23),
    (31, -40, 1.8228094581404e-24),
    (32, -41, -9.3537087292458e-26),
];
