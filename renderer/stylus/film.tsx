import { useEffect, useMemo, useState } from 'react';
import type { StylusPage } from '../../shared/index.ts';
import { fitTip, niceLength } from '../bench/geometry.ts';
import { prefersCalm } from '../bench/turning.ts';
import { formatDated, formatHours, grouped, lengthUnit, NBSP } from '../format.ts';
import { hoursAt } from '../state/hours.ts';
import { useDaybook } from '../state/use.ts';
import { LiveNumberField } from '../ui/fields.tsx';
import { VIEW_SHORT } from '../words.ts';
import { type Film, type FilmFrame, films } from './film-data.ts';
import { Placed } from './film-placed.tsx';
import { FilmStrip } from './film-strip.tsx';

/** Faster than three pictures a second may harm people who are sensitive to flicker (WCAG 2.3.1). */
const MOST_PER_SECOND = 3;
const STAGE = { width: 560, height: 400 } as const;

/** All pictures of a view in one tip frame: as a strip through the years, and one after the other in place. */
export function FilmSection({ page }: { readonly page: StylusPage }) {
  const all = useMemo(() => films(page), [page]);
  const [view, setView] = useState<Film['view'] | null>(null);
  const film = all.find((one) => one.view === view) ?? all[0];
  if (film === undefined || film.frames.length < 2) return null;
  return (
    <section aria-labelledby="film">
      <h2 id="film">Through the years</h2>
      {all.length > 1 && (
        <div className="filter" role="group" aria-label="View">
          {all.map((one) => (
            <button
              key={one.view}
              type="button"
              className="chip"
              aria-pressed={one === film}
              onClick={() => setView(one.view)}
            >
              {VIEW_SHORT[one.view]}
            </button>
          ))}
        </div>
      )}
      <Player key={film.view} film={film} page={page} />
    </section>
  );
}

function Player({ film, page }: { readonly film: Film; readonly page: StylusPage }) {
  const { frames, left } = film;
  const [at, setAt] = useState(frames.length - 1);
  const [running, setRunning] = useState(false);
  // Who asked for less motion gets a slow start; nothing ever starts by itself.
  const [perSecond, setPerSecond] = useState(() => (prefersCalm() ? 0.5 : 1.5));
  const shown = Math.min(at, frames.length - 1);
  useEffect(() => {
    if (!running) return undefined;
    const timer = setInterval(() => setAt((old) => (old + 1) % frames.length), 1000 / perSecond);
    const stop = (): void => setRunning(false);
    const key = (event: KeyboardEvent): void => {
      if (event.key === 'Escape') stop();
    };
    document.addEventListener('visibilitychange', stop);
    addEventListener('keydown', key);
    return () => {
      clearInterval(timer);
      document.removeEventListener('visibilitychange', stop);
      removeEventListener('keydown', key);
    };
  }, [running, perSecond, frames.length]);
  const go = (index: number): void => {
    setRunning(false);
    setAt(Math.min(frames.length - 1, Math.max(0, index)));
  };
  const wordsOf = (index: number): string => frameWords(page, frames[index]);
  return (
    <div className="film">
      <figure className="film-figure">
        <div className="film-stage">
          {frames.map((frame, index) =>
            isNext(index, shown, frames.length) ? (
              <Placed
                key={frame.capture.id}
                frame={frame}
                film={film}
                size={STAGE}
                hidden={index !== shown}
                edge={1280}
                alt={index === shown ? `Tip, registered: ${wordsOf(index)}` : ''}
              />
            ) : null,
          )}
          <ScaleBar film={film} />
        </div>
        <figcaption>
          <p className="film-caption" role="status" aria-live={running ? 'off' : 'polite'}>
            {`${wordsOf(shown)} (${shown + 1} of ${frames.length})`}
          </p>
        </figcaption>
      </figure>
      <div className="film-controls">
        <label className="film-slider">
          Picture
          <input
            type="range"
            min={1}
            max={frames.length}
            step={1}
            value={shown + 1}
            aria-valuetext={wordsOf(shown)}
            onChange={(event) => go(Number(event.target.value) - 1)}
          />
        </label>
        <span className="actions">
          <button type="button" className="button" disabled={shown === 0} onClick={() => go(shown - 1)}>
            Earlier
          </button>
          <button
            type="button"
            className="button button-main"
            aria-pressed={running}
            onClick={() => setRunning(!running)}
          >
            {running ? 'Stop' : 'Run as a film'}
          </button>
          <button
            type="button"
            className="button"
            disabled={shown === frames.length - 1}
            onClick={() => go(shown + 1)}
          >
            Later
          </button>
        </span>
        <LiveNumberField
          label="Pictures a second"
          hint={`0.2 to ${MOST_PER_SECOND}; Escape stops it`}
          min={0.2}
          max={MOST_PER_SECOND}
          value={perSecond}
          onChange={setPerSecond}
        />
        {left.length > 0 && (
          <p className="hint">
            {`${grouped(left.length)} more of this view ${left.length === 1 ? 'is' : 'are'} not in it: compare ${left.length === 1 ? 'it' : 'them'} with the baseline, and ${left.length === 1 ? 'it finds its' : 'they find their'} place.`}
          </p>
        )}
      </div>
      <FilmStrip film={film} shown={shown} onShow={go} wordsOf={wordsOf} />
    </div>
  );
}

/** Pictures that are held ready on the stage to both sides of the one that is shown; the film runs in a ring. */
const READY = 5;

function isNext(index: number, shown: number, count: number): boolean {
  const apart = Math.abs(index - shown);
  return Math.min(apart, count - apart) <= READY;
}

function frameWords(page: StylusPage, { capture }: FilmFrame): string {
  const day = capture.taken?.wall.slice(0, 10) ?? '';
  const { hours, known } = hoursAt(page, day);
  return `${formatDated(capture.taken)}, ${formatHours(hours)}${known ? '' : ' logged'}${capture.isBaseline ? ', baseline' : ''}`;
}

function ScaleBar({ film }: { readonly film: Film }) {
  const unit = useDaybook((state) => state.settings.unit);
  const { factor, symbol } = lengthUnit(unit, film.unit);
  const { zoom } = fitTip(STAGE, film.radius);
  const length = niceLength((120 / zoom) * factor);
  return (
    <span className="film-scale" style={{ width: (length / factor) * zoom }}>
      {`${Number(length.toPrecision(3))}${NBSP}${symbol}`}
    </span>
  );
}
