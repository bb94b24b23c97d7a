import { useState } from 'react';
import { useStore } from 'zustand';
import { bendChange } from '../../core/cantilever/change.ts';
import { bendWords, type CantileverAnswer, type CantileverReport, type Capture } from '../../shared/index.ts';
import { formatDated, formatMeasured, lengthUnit, type LengthUnit, type Shown } from '../format.ts';
import { pickStore, startPick, stopPick } from '../marks/pick.ts';
import { Refused } from '../ui/bits.tsx';
import { TextField } from '../ui/fields.tsx';
import { benchStore } from './bench-state.ts';
import { Budget, type BudgetPart, Line, Warnings } from './numbers.tsx';
import { parseLine } from './skew-line.ts';
import type { Skewing } from './use-skew.ts';

const DEGREES: Shown = { factor: 1, symbol: '°' };

type CantileverProps = {
  readonly report: CantileverReport | null;
  /** The baseline of the same view, to tell what changed; null when there is none or this is it. */
  readonly baseline: Capture | null;
  readonly unit: LengthUnit;
};

/** Bend, straightness, skew, and what changed since the baseline. */
export function Cantilever({ report, baseline, unit }: CantileverProps) {
  if (report === null) return null;
  if (!report.ok) return <Refused sentence={report.reason.message} />;
  const { cantilever } = report;
  const shown =
    report.unit === 'percent-of-length' ? { factor: 1, symbol: '% of its length' } : lengthUnit(unit);
  return (
    <section className="panel-part" aria-labelledby="cantilever">
      <h2 id="cantilever">Cantilever</h2>
      <dl className="numbers">
        <Line
          name="Bend"
          value={formatMeasured(cantilever.bendAngleDeg, DEGREES)}
          note={
            cantilever.bendToward === 'none'
              ? 'not beyond its uncertainty'
              : bendWords(cantilever.bendToward === 'left' ? 'left' : 'right', report.drawing?.axisPx)
          }
        />
        <Line name="Straightness" value={formatMeasured(cantilever.straightnessUm, shown)} />
        {cantilever.skewDeg !== undefined && (
          <Line
            name="Skew at the root"
            value={formatMeasured(cantilever.skewDeg, DEGREES)}
            note="against the line given, anticlockwise positive"
          />
        )}
        {baseline !== null && <Changed report={report} baseline={baseline} />}
      </dl>
      <Warnings warnings={report.warnings} />
      <Budget shown={shown} whose="the cantilever’s" parts={budgetParts(cantilever)} />
    </section>
  );
}

function budgetParts({
  budgets,
  bendAngleDeg,
  straightnessUm,
  skewDeg,
}: CantileverAnswer['cantilever']): BudgetPart[] {
  return [
    { name: 'bend', lines: budgets?.bendAngleDeg, of: bendAngleDeg, shown: DEGREES },
    { name: 'straightness', lines: budgets?.straightnessUm, of: straightnessUm },
    {
      name: 'skew at the root',
      lines: budgets?.skewDeg,
      shown: DEGREES,
      ...(skewDeg === undefined ? {} : { of: skewDeg }),
    },
  ];
}

function Changed({
  report,
  baseline,
}: {
  readonly report: Extract<CantileverReport, { ok: true }>;
  readonly baseline: Capture;
}) {
  const before = baseline.cantilever;
  if (before?.ok !== true)
    return (
      <Line
        name="Change since the baseline"
        value="not known"
        note={`measure the cantilever in the picture of ${formatDated(baseline.taken)} too`}
      />
    );
  const change = bendChange(before.cantilever, report.cantilever);
  return (
    <Line
      name="Change since the baseline"
      value={formatMeasured(change, DEGREES)}
      note={
        Math.abs(change.value) <= change.expanded
          ? 'not beyond its uncertainty'
          : `${bendWords(change.value > 0 ? 'right' : 'left', report.drawing?.axisPx)}, since ${formatDated(baseline.taken)}`
      }
    />
  );
}

/** The line that a skew is told against: set on the picture by pointer or keys, or typed. */
export function SkewForm({ busy, skewing }: { readonly busy: boolean; readonly skewing: Skewing }) {
  const { text, setText, measure } = skewing;
  const [error, setError] = useState<string | null>(null);
  const setting = useStore(pickStore, ({ pick }) => pick?.purpose === 'skew');
  const begin = (): void => {
    if (setting) return stopPick();
    const { at } = benchStore.getState().view;
    return startPick('skew', 'line', [at.x, at.y]);
  };
  return (
    <details className="panel-part">
      <summary>Skew against a line</summary>
      <p className="actions">
        <button type="button" className="button" aria-pressed={setting} disabled={busy} onClick={begin}>
          {setting ? 'Leave the line' : 'Set the line on the picture'}
        </button>
      </p>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          const line = parseLine(text);
          setError(
            line === null
              ? 'Give one angle, or four numbers for two places at least two pixels apart.'
              : null,
          );
          if (line !== null) void measure(line);
        }}
      >
        <TextField
          label="The line: its angle, or two places"
          value={text}
          onChange={setText}
          error={error}
          hint="Degrees anticlockwise from level, such as 1.5; or two places in picture pixels, as x y x y, such as 100 420 900 433."
        />
        <button type="submit" className="button" disabled={busy}>
          Measure the skew
        </button>
      </form>
    </details>
  );
}
