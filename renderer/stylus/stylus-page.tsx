import { useMemo } from 'react';
import type { StylusPage, WearCourse } from '../../shared/index.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { Refused, Soon } from '../ui/bits.tsx';
import { useWidth } from '../ui/use-width.ts';
import { AdvicePanel } from '../listening/advice-panel.tsx';
import { useAdvice } from '../listening/use-listening.ts';
import { flatPoints } from './chart-data.ts';
import { CostsSection } from './costs-section.tsx';
import { FilmSection } from './film.tsx';
import { FlatChart } from './flat-chart.tsx';
import { PlayingSection } from './playing-section.tsx';
import { StylusHead } from './stylus-head.tsx';
import { CaptureStrip } from './strip.tsx';
import { Timeline } from './timeline.tsx';
import { useCourse } from './use-course.ts';

export function StylusScreen() {
  const page = useDaybook((state) => state.page);
  const problem = useDaybook((state) => state.problem);
  if (page !== null) return <Page page={page} />;
  return problem === null ? <p className="waiting">Opening…</p> : <NotThere sentence={problem} />;
}

/** Rows above which what stands below the pictures is made after them. */
const FEW = 300;

function Page({ page }: { readonly page: StylusPage }) {
  const course = useCourse(page);
  const advice = useAdvice(page);
  const small = page.captures.length + page.comparisons.length + page.entries.length <= FEW;
  return (
    <div className="screen">
      <StylusHead page={page} look={course?.look ?? null} advice={advice} />
      <section aria-labelledby="pictures">
        <h2 id="pictures">Pictures</h2>
        <CaptureStrip page={page} />
      </section>
      <Soon now={small}>
        <FilmSection page={page} />
        <WearSection page={page} course={course} />
      </Soon>
      <PlayingSection page={page} />
      <CostsSection page={page} course={course} />
      <section aria-labelledby="advice">
        <h2 id="advice" tabIndex={-1}>
          Advice
        </h2>
        <AdvicePanel page={page} advice={advice} />
      </section>
      <section aria-labelledby="timeline">
        <h2 id="timeline">Timeline</h2>
        <AddEntry page={page} />
        <Soon now={small}>
          <Timeline page={page} />
        </Soon>
      </section>
    </div>
  );
}

export function NotThere({ sentence }: { readonly sentence: string }) {
  return (
    <div className="screen">
      <Refused sentence={sentence}>
        <p>
          <a href="#/">Back to the shelf</a>
        </p>
      </Refused>
    </div>
  );
}

function WearSection(props: { readonly page: StylusPage; readonly course: WearCourse | null }) {
  const { page, course } = props;
  const points = useMemo(() => flatPoints(page), [page]);
  const { unit, practiceHours } = useDaybook((state) => state.settings);
  const [ref, width] = useWidth<HTMLElement>(760);
  const { open } = useModel();
  return (
    <section aria-labelledby="wear" ref={ref}>
      <h2 id="wear">Wear against hours</h2>
      {points.length === 0 ? (
        <p className="hint">
          No flats measured yet. Add a later picture of the same view and compare it with the baseline.
        </p>
      ) : (
        <FlatChart
          points={points}
          course={course}
          unit={unit}
          width={width}
          limitUm={page.stylus.limitUm}
          practiceHours={practiceHours}
          hoursKnown={page.stylus.startHours !== null}
        />
      )}
      {points.length > 0 && (
        <p className="actions chart-actions">
          <button
            type="button"
            className="button"
            onClick={() => open({ kind: 'stylus', stylusId: page.stylus.id })}
          >
            {page.stylus.limitUm === null ? 'Set your own limit' : 'Change your limit'}
          </button>
          <button type="button" className="button" onClick={() => open({ kind: 'settings' })}>
            Change the hours of common practice
          </button>
        </p>
      )}
    </section>
  );
}

function AddEntry({ page }: { readonly page: StylusPage }) {
  const { open } = useModel();
  const stylusId = page.stylus.id;
  const kinds = ['cleaning', 'listening', 'set-up', 'note', 'decision'] as const;
  const words = {
    cleaning: 'Cleaning',
    listening: 'Listening check',
    'set-up': 'Set-up change',
    note: 'Note',
    decision: 'Decision',
  };
  return (
    <div className="actions add-entry" role="group" aria-label="Add to the timeline">
      <button
        type="button"
        className="button"
        onClick={() => open({ kind: 'playing', stylusId, entry: null })}
      >
        Log playing time
      </button>
      {kinds.map((entryKind) => (
        <button
          key={entryKind}
          type="button"
          className="button"
          onClick={() => open({ kind: 'entry', stylusId, entryKind, entry: null })}
        >
          {words[entryKind]}
        </button>
      ))}
      <button type="button" className="button" onClick={() => open({ kind: 'cleaning-pair' })}>
        Before and after cleaning
      </button>
    </div>
  );
}
