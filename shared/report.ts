import { z } from 'zod';
import { REPORT_VERSION } from './limits.ts';
import { REASON_CODES } from './outcome.ts';

export const viewSchema = z.enum(['front', 'side', 'end-on', 'below', 'above']);
export type View = z.infer<typeof viewSchema>;

/**
 * A measured value: best estimate, expanded uncertainty U = t(95.45 %) u; `low`/`high` where the interval is lopsided.
 */
export const measuredSchema = z.object({
  value: z.number(),
  expanded: z.number().nonnegative(),
  low: z.number().optional(),
  high: z.number().optional(),
});
export type Measured = z.infer<typeof measuredSchema>;

/** One line of an uncertainty budget; `standard` in the unit of the value, one standard deviation. */
export const budgetLineSchema = z.object({
  source: z.string(),
  standard: z.number().nonnegative(),
  type: z.enum(['A', 'B']),
  degreesOfFreedom: z.number().positive().nullable(),
  note: z.string().optional(),
});
export type BudgetLine = z.infer<typeof budgetLineSchema>;
const budgetSchema = z.array(budgetLineSchema);

export const warningSchema = z.object({ code: z.string(), message: z.string() });
export type Warning = z.infer<typeof warningSchema>;

export const suspicionSchema = z.object({
  kind: z.enum([
    'chip',
    'residue',
    'bent-cantilever',
    'missing-diamond',
    'leaning-diamond',
    'turned-diamond',
  ]),
  /** Polar angle in the tip frame, degrees (cantilever suspicions: image-frame angle of the place). */
  angleDeg: z.number(),
  sizeUm: z.number(),
  /** Depth of a chip or height of residue, um. */
  depthUm: z.number(),
});
export type Suspicion = z.infer<typeof suspicionSchema>;

/** Where a capture's tip frame lies in its picture (see shared/geometry Pose). */
export const poseSchema = z.object({
  xPx: z.number(),
  yPx: z.number(),
  rotationDeg: z.number(),
  umPerPx: z.number(),
});

/** How a hand laid two captures over each other: both in one frame, of which only their relation counts. */
export const handPlacingSchema = z.object({ baseline: poseSchema, later: poseSchema });

/** Contours in the tip frame, um: [x, y] pairs from the left shank over the apex to the right shank. */
export const contourSchema = z.array(z.tuple([z.number(), z.number()]));
/** Recession profile: [polar angle in degrees, recession in um (growth negative), expanded uncertainty]. */
export const profileSchema = z.array(z.tuple([z.number(), z.number(), z.number()]));

/**
 * How far one reading of a person scatters, from a study of repeated placings (type A, JCGM 100:2008, 4.2): a later single
 * reading carries the whole s. `fitUm`: root mean square of what the study's fits stated for their own noise; it is inside
 * s. null = not known: then it is taken to be that of the picture at hand.
 */
export const scatterSchema = z.object({
  standardUm: z.number().nonnegative().max(1000),
  fitUm: z.number().nonnegative().nullable(),
  degreesOfFreedom: z.number().positive(),
});
export type Scatter = z.infer<typeof scatterSchema>;
export const repeatabilitySchema = z.object({
  left: scatterSchema,
  right: scatterSchema,
  /** null = nothing is known of the radius. */
  radius: scatterSchema.nullable(),
  /** Which study, for whoever keeps several. */
  study: z.string().optional(),
});
export type GivenRepeatability = z.infer<typeof repeatabilitySchema>;

const flatPairSchema = z.object({
  baselineUm: measuredSchema,
  laterUm: measuredSchema,
  changeUm: measuredSchema,
  decisionThresholdUm: z.number(),
  detectionLimitUm: z.number(),
  detected: z.boolean(),
  /** The baseline's own limits; absent in results of older engines. */
  baselineDecisionThresholdUm: z.number().optional(),
  baselineDetectionLimitUm: z.number().optional(),
  directionDeg: z.number().optional(),
  /** Of the later width. */
  budget: budgetSchema.optional(),
  baselineBudget: budgetSchema.optional(),
  changeBudget: budgetSchema.optional(),
});
export type FlatPair = z.infer<typeof flatPairSchema>;

const flatSingleSchema = z.object({
  widthUm: measuredSchema,
  decisionThresholdUm: z.number(),
  detectionLimitUm: z.number(),
  detected: z.boolean(),
  directionDeg: z.number().optional(),
  budget: z.array(budgetLineSchema).optional(),
});
export type FlatSingle = z.infer<typeof flatSingleSchema>;

const tipSchema = z.object({ radiusUm: measuredSchema, arcDeg: z.number(), budget: budgetSchema.optional() });

const common = {
  id: z.string().optional(),
  reportVersion: z.literal(REPORT_VERSION),
  engineVersion: z.string(),
  suspicions: z.array(suspicionSchema),
  warnings: z.array(warningSchema),
  timingMs: z.number(),
};

export const refusedSchema = z.object({
  ok: z.literal(false),
  id: z.string().optional(),
  reportVersion: z.literal(REPORT_VERSION).optional(),
  engineVersion: z.string().optional(),
  reason: z.object({ code: z.enum(REASON_CODES), message: z.string() }),
  warnings: z.array(warningSchema).optional(),
  timingMs: z.number().optional(),
});

/** `unit` 'percent-of-shank' is used when no scale was given: every "Um" field then counts in per cent of the shank. */
const unitSchema = z.enum(['um', 'percent-of-shank']);

export const comparisonAnswerSchema = z.object({
  ok: z.literal(true),
  ...common,
  unit: unitSchema.optional(),
  method: z.enum(['joint-model', 'recession-profile']).optional(),
  registration: z.object({
    rotationDeg: z.number(),
    scaleRatio: z.number(),
    residualUm: z.number(),
    rotationDegExpanded: z.number().optional(),
    scaleRatioExpanded: z.number().optional(),
    statedScaleRatio: z.number().optional(),
    byHand: z.boolean().optional(),
  }),
  sharpness: z.object({ baselineEdgeUm: z.number(), laterEdgeUm: z.number() }),
  tip: tipSchema,
  contour: z.object({
    areaLostUm2: measuredSchema,
    areaGainedUm2: measuredSchema,
    largestRecessionUm: measuredSchema,
    largestGrowthUm: measuredSchema,
    budgets: z
      .object({
        areaLostUm2: budgetSchema,
        areaGainedUm2: budgetSchema,
        largestRecessionUm: budgetSchema,
        largestGrowthUm: budgetSchema,
      })
      .optional(),
  }),
  flats: z.object({ left: flatPairSchema, right: flatPairSchema }),
  /** What the person's own studies say, as it was counted; absent = none was given. */
  repeatability: z
    .object({ baseline: repeatabilitySchema.nullable(), later: repeatabilitySchema.nullable() })
    .optional(),
  /** For drawing: poses of both captures in one tip frame, contours and the recession profile. */
  drawing: z
    .object({
      baselinePose: poseSchema,
      laterPose: poseSchema,
      baselineContour: contourSchema,
      laterContour: contourSchema,
      profile: profileSchema,
    })
    .optional(),
});
export type ComparisonAnswer = z.infer<typeof comparisonAnswerSchema>;
export const comparisonReportSchema = z.discriminatedUnion('ok', [comparisonAnswerSchema, refusedSchema]);
export type ComparisonReport = z.infer<typeof comparisonReportSchema>;

export const facetSchema = z.object({
  side: z.enum(['left', 'right']),
  alongUm: measuredSchema,
  /** As seen: the flat's plane is tilted by 45 degrees. */
  acrossUm: measuredSchema,
  /** The flat's own width, across / cos 45 degrees. */
  widthUm: measuredSchema.optional(),
  centrePx: z.object({ x: z.number(), y: z.number() }).optional(),
  /** The patch's rim in the picture as fitted, px: closed, the last point joins the first. */
  outlinePx: contourSchema.optional(),
  /** Corners of the box about it, px, two sides along the groove, in the order of the outline. */
  cornersPx: contourSchema.optional(),
  /** Of the extent along the groove. */
  budget: budgetSchema.optional(),
  acrossBudget: budgetSchema.optional(),
  widthBudget: budgetSchema.optional(),
});

export const examinationAnswerSchema = z.object({
  ok: z.literal(true),
  ...common,
  unit: unitSchema.optional(),
  sharpness: z.object({ edgeUm: z.number() }),
  /** Only where a tip outline was measured (front and side views). */
  tip: tipSchema.optional(),
  flats: z.object({ left: flatSingleSchema, right: flatSingleSchema }).optional(),
  repeatability: repeatabilitySchema.optional(),
  /** Root-mean-square distance between the outline and the fitted shape, um. */
  shapeResidualUm: z.number().optional(),
  facets: z.array(facetSchema).optional(),
  /** End-on: direction of the groove in the picture, degrees anticlockwise from right, 0 to 180; from both patches. */
  groove: z
    .object({ directionDeg: z.number(), expandedDeg: z.number(), budget: budgetSchema.optional() })
    .optional(),
  drawing: z.object({ pose: poseSchema, contour: contourSchema, profile: profileSchema }).optional(),
});
export type ExaminationAnswer = z.infer<typeof examinationAnswerSchema>;
export const examinationReportSchema = z.discriminatedUnion('ok', [examinationAnswerSchema, refusedSchema]);
export type ExaminationReport = z.infer<typeof examinationReportSchema>;

export const cantileverAnswerSchema = z.object({
  ok: z.literal(true),
  ...common,
  /** 'percent-of-length' without a scale: every "Um" field then counts in per cent of the cantilever's visible length. */
  unit: z.enum(['um', 'percent-of-length']).optional(),
  cantilever: z.object({
    bendAngleDeg: measuredSchema,
    /** Towards which side the tip end is bent, going from root to tip in the picture: 'left', 'right' or 'none'. */
    bendToward: z.string(),
    /** The same angle with its sense: to the right positive, going from root to tip: clockwise in the picture. */
    signedBendDeg: z.number().optional(),
    straightnessUm: measuredSchema,
    /** Axis at the root against the line that the person gave, anticlockwise on screen positive, -90 to 90. */
    skewDeg: measuredSchema.optional(),
    lengthUm: z.number().optional(),
    /** In the unit of each value. */
    budgets: z
      .object({
        bendAngleDeg: budgetSchema,
        straightnessUm: budgetSchema,
        skewDeg: budgetSchema.optional(),
      })
      .optional(),
  }),
  drawing: z.object({ axisPx: contourSchema }).optional(),
});
export type CantileverAnswer = z.infer<typeof cantileverAnswerSchema>;
export const cantileverReportSchema = z.discriminatedUnion('ok', [cantileverAnswerSchema, refusedSchema]);
export type CantileverReport = z.infer<typeof cantileverReportSchema>;
