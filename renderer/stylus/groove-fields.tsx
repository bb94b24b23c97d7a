import type { Stylus } from '../../shared/index.ts';
import { editable, parseNumber } from '../format.ts';
import { ChoiceField, NumberField } from '../ui/fields.tsx';

/** Speed and radii of records: a usual kind, or typed. Radii in mm. */
export type Groove = NonNullable<Stylus['groove']>;
export type GrooveText = {
  readonly kind: 'usual' | keyof typeof KINDS | 'own';
  readonly rpm: string;
  readonly outer: string;
  readonly inner: string;
};

/**
 * Recorded outer diameters 292.6, 241.8 and 168.3 mm: IEC 60098:1987 cl. 8.5, read second-hand. Inner radii: the oldest
 * limit of 60 mm for 30 and 25 cm; 54 mm for 17 cm is common practice, no source.
 */
const KINDS = {
  'lp-30': { label: '30 cm, 33⅓', groove: { rpm: 100 / 3, outerMm: 146.3, innerMm: 60.325 } },
  'maxi-45': { label: '30 cm, 45', groove: { rpm: 45, outerMm: 146.3, innerMm: 60.325 } },
  'ten-78': { label: '25 cm, 78', groove: { rpm: 78, outerMm: 120.9, innerMm: 60 } },
  'single-45': { label: '17 cm, 45', groove: { rpm: 45, outerMm: 84.15, innerMm: 54 } },
} as const satisfies Record<string, { label: string; groove: Groove }>;
type Kind = keyof typeof KINDS;
const NAMES = Object.keys(KINDS) as Kind[];

export function grooveText(groove: Groove | null | undefined): GrooveText {
  const typed = {
    rpm: editable(groove?.rpm ?? null),
    outer: editable(groove?.outerMm ?? null),
    inner: editable(groove?.innerMm ?? null),
  };
  if (groove === null || groove === undefined) return { kind: 'usual', ...typed };
  const near = (a: number, b: number): boolean => Math.abs(a - b) < 0.01;
  const known = NAMES.find((name) => {
    const one = KINDS[name].groove;
    return (
      near(one.rpm, groove.rpm) && near(one.outerMm, groove.outerMm) && near(one.innerMm, groove.innerMm)
    );
  });
  return { kind: known ?? 'own', ...typed };
}

export function readGroove(text: GrooveText): {
  readonly groove: Groove | null;
  readonly wrong: string | null;
} {
  if (text.kind === 'usual') return { groove: null, wrong: null };
  if (text.kind !== 'own') return { groove: KINDS[text.kind].groove, wrong: null };
  const [rpm, outerMm, innerMm] = [text.rpm, text.outer, text.inner].map((one) => parseNumber(one) ?? 0);
  const sound = rpm > 0 && rpm <= 120 && innerMm > 0 && outerMm > innerMm && outerMm <= 200;
  return sound
    ? { groove: { rpm, outerMm, innerMm }, wrong: null }
    : {
        groove: null,
        wrong: 'Speed up to 120 a minute, radii up to 200 mm, the inner one smaller than the outer.',
      };
}

export function GrooveFields(props: {
  readonly text: GrooveText;
  /** What stands for "as usual". */
  readonly usual: string;
  readonly wrong: string | null;
  readonly change: (part: Partial<GrooveText>) => void;
}) {
  const { text, usual, wrong, change } = props;
  return (
    <>
      <ChoiceField
        label="Records"
        hint="Speed and radii, for the groove kilometres"
        value={text.kind}
        choices={[
          { value: 'usual', label: usual },
          ...NAMES.map((value) => ({ value, label: KINDS[value].label })),
          { value: 'own', label: 'speed and radii typed in' },
        ]}
        onChange={(kind: GrooveText['kind']) => change({ kind })}
      />
      {text.kind === 'own' && (
        <>
          <NumberField
            label="Turns a minute"
            value={text.rpm}
            error={wrong}
            onChange={(rpm) => change({ rpm })}
          />
          <NumberField
            label="Outer radius"
            suffix="mm"
            value={text.outer}
            onChange={(outer) => change({ outer })}
          />
          <NumberField
            label="Inner radius"
            suffix="mm"
            value={text.inner}
            onChange={(inner) => change({ inner })}
          />
        </>
      )}
    </>
  );
}
