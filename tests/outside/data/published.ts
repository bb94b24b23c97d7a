/** Short published examples. `known` as in the project's table of values: read, or memory (recalled and recomputed). */

/** Gander, Golub & Strebel, BIT 34 (1994) 558. Known: memory, recomputed. */
export const gander = {
  circle: { x: [1, 2, 5, 7, 9, 3], y: [7, 6, 8, 7, 5, 7], centre: [4.7398, 2.9835], radius: 4.7142 },
  /** Two more points, (6,2) and (8,4). Known: read, recomputed. */
  ellipse: {
    x: [1, 2, 5, 7, 9, 3, 6, 8],
    y: [7, 6, 8, 7, 5, 7, 2, 4],
    centre: [2.6996, 3.816],
    a: 6.5187,
    b: 3.0319,
    angle: 0.3596,
  },
} as const;

/** JCGM 100:2008, annex H. Known: H.1 and H.2 read; the readings of H.2 and H.3 memory, recomputed. */
export const gum = {
  /** Table H.1: end gauge; nm and degrees of freedom, first-order terms that are not zero. */
  h1: {
    lines: [
      { source: 'standard end gauge', standard: 25, degreesOfFreedom: 18 },
      { source: 'difference: repeated observations', standard: 5.8, degreesOfFreedom: 24 },
      { source: 'difference: random effects of the comparator', standard: 3.9, degreesOfFreedom: 5 },
      { source: 'difference: systematic effects of the comparator', standard: 6.7, degreesOfFreedom: 8 },
      { source: 'difference in expansion coefficients', standard: 2.9, degreesOfFreedom: 50 },
      { source: 'difference in temperatures', standard: 16.6, degreesOfFreedom: 2 },
    ],
    valueMm: 50.000838,
    standardNm: 32,
    degreesOfFreedom: 16,
    expanded99Nm: 93,
  },
  /** Resistance and reactance from five simultaneous observations of V, I (A) and the phase (rad). */
  h2: {
    volt: [5.007, 4.994, 5.005, 4.99, 4.999],
    ampere: [0.019663, 0.019639, 0.01964, 0.019685, 0.019678],
    phase: [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    resistance: [127.732, 0.071],
    reactance: [219.847, 0.295],
    impedance: [254.26, 0.236],
  },
  /** Calibration of a thermometer: correction against reading, reference temperature 20. */
  h3: {
    reading: [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511],
    correction: [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16],
    intercept: [-0.1712, 0.0029],
    slope: [0.00218, 0.00067],
    correlation: -0.93,
    at30: [-0.1494, 0.0041],
  },
} as const;

/** Line centres of a stage micrometer, 100 um apart, px (jrminter, public notes). Known: read; results computed. */
export const stageMicrometer = {
  pitchUm: 100,
  centresPx: [
    36.21, 172.983, 310.438, 447.214, 583.455, 720.433, 857.769, 994.5, 1131.829, 1268.389, 1406.128,
  ],
  umPerPx: 0.7302,
  standardUmPerPx: 0.00018,
} as const;

/**
 * Pearson's points with York's weights: the usual test of a line with errors in both variables. York, Can. J. Phys. 44
 * (1966) 1079; York et al., Am. J. Phys. 72 (2004) 367. Known: memory, recomputed (and live against SciPy's ODR).
 */
export const pearsonYork = {
  x: [0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4],
  y: [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5],
  weightX: [1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1],
  weightY: [1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500],
  slope: -0.480533407,
  intercept: 5.47991022,
  reducedChiSquare: 1.4833,
} as const;

/** Wear of one fine-line stylus, measured ten times: an open series (author and licence unknown). Known: read. */
export const wearSeries = {
  hours: [0, 48, 96, 192, 240, 288, 384, 480, 576, 672],
  leftUm: [2.0, 3.3, 5.3, 6.1, 6.1, 6.6, 8.1, 8.4, 8.4, 8.4],
  rightUm: [3.6, 4.3, 5.1, 6.6, 6.9, 7.4, 8.4, 8.6, 8.9, 8.9],
} as const;
