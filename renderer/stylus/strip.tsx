import { startTransition, useEffect, useState } from 'react';
import type { Capture, StylusPage } from '../../shared/index.ts';
import { formatDated, formatHours, grouped } from '../format.ts';
import { hoursAt } from '../state/hours.ts';
import { writeRoute } from '../state/route.ts';
import { useModel } from '../state/use.ts';
import { Picture, useNear } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';
import { VIEW_SHORT } from '../words.ts';
import { baselineFor, comparisonOf, hasOutline } from './captures.ts';

/** The pictures through time, oldest first, each with what can be done with it next. */
export function CaptureStrip({ page }: { readonly page: StylusPage }) {
  const { open } = useModel();
  if (page.captures.length === 0)
    return (
      <div className="empty empty-small">
        <p>
          No picture yet. Drop files anywhere on this page, paste one, or choose them: the first good look at
          the tip becomes the baseline.
        </p>
        <button
          type="button"
          className="button button-main"
          onClick={() => open({ kind: 'import', stylusId: page.stylus.id, files: [] })}
        >
          <Icon name="picture" />
          Add pictures
        </button>
        <p className="hint">A new stylus? Take its first pictures one by one:</p>
        <a className="button" href={writeRoute({ screen: 'first-set', stylusId: page.stylus.id })}>
          First set of pictures
        </a>
      </div>
    );
  return <Strip page={page} />;
}

/** More than fill a large screen; a page of hundreds shows these first, the others when somebody comes near. */
const AT_FIRST = 48;
/** Or after the rest of the page, so that the browser's search and screen readers find them. */
const OTHERS_AFTER_MS = 1000;
/** Of thousands the newest are shown, and so many more at a time on demand: a page cannot carry all of them. */
const AT_ONCE = 300;

function Strip({ page }: { readonly page: StylusPage }) {
  const count = page.captures.length;
  const [most, setMost] = useState(AT_ONCE);
  const [later, setLater] = useState(false);
  useEffect(() => {
    const timer = setTimeout(() => startTransition(() => setLater(true)), OTHERS_AFTER_MS);
    return () => clearTimeout(timer);
  }, []);
  const [near, mark] = useNear();
  const ready = count <= AT_FIRST || near || later;
  const hidden = Math.max(0, count - most);
  return (
    <>
      {hidden > 0 && (
        <p className="strip-more">
          <button type="button" className="button" onClick={() => setMost(most + AT_ONCE)}>
            {`Show ${Math.min(hidden, AT_ONCE)} earlier pictures`}
          </button>
          <span className="hint">{`${grouped(hidden)} earlier ones are not shown here.`}</span>
        </p>
      )}
      <ul className="strip" aria-label="Pictures, oldest first">
        {page.captures.slice(hidden).map((capture, i) =>
          ready || i < AT_FIRST ? (
            <StripItem key={capture.id} capture={capture} page={page} />
          ) : (
            // Keeps the place, so that what stands below does not move.
            <li
              key={capture.id}
              className="strip-item strip-later"
              aria-hidden="true"
              ref={i === AT_FIRST ? mark : undefined}
            />
          ),
        )}
      </ul>
    </>
  );
}

function StripItem({ capture, page }: { readonly capture: Capture; readonly page: StylusPage }) {
  const { open } = useModel();
  const stylusId = page.stylus.id;
  const date = formatDated(capture.taken);
  const hours = capture.taken === null ? null : hoursAt(page, capture.taken.wall.slice(0, 10));
  return (
    <li className="strip-item">
      <a href={writeRoute({ screen: 'look', stylusId, captureId: capture.id })} className="strip-link">
        <Picture captureId={capture.id} edge={480} alt="" />
        <span className="strip-date">{date}</span>
      </a>
      <p className="hint">
        {VIEW_SHORT[capture.view]}
        {hours === null ? '' : `, ${formatHours(hours.hours)}${hours.known ? '' : ' logged'}`}
        {capture.scale !== null ? '' : capture.heldBackScale ? ', scale taken away' : ', no scale'}
      </p>
      <p className="strip-state">
        <CaptureState capture={capture} page={page} />
        <button
          type="button"
          className="button button-quiet button-icon"
          aria-label={`Edit: picture of ${date}`}
          onClick={() => open({ kind: 'capture', capture })}
        >
          <Icon name="edit" />
        </button>
      </p>
    </li>
  );
}

function CaptureState({ capture, page }: { readonly capture: Capture; readonly page: StylusPage }) {
  const { compare, go } = useModel();
  if (capture.isBaseline) return <span className="tag tag-baseline">baseline</span>;
  const baseline = baselineFor(page, capture);
  if (baseline === null) return <span className="hint">no baseline of this view</span>;
  const route = {
    screen: 'bench' as const,
    stylusId: page.stylus.id,
    baselineId: baseline.id,
    laterId: capture.id,
  };
  const done = comparisonOf(page, baseline.id, capture.id);
  if (done !== null)
    return (
      <a className="button" href={writeRoute(route)}>
        {done.report.ok ? 'Compared: open' : 'No answer: why'}
      </a>
    );
  if (!hasOutline(capture.view))
    return (
      <a className="button" href={writeRoute(route)}>
        Beside baseline
      </a>
    );
  return (
    <button
      type="button"
      className="button"
      onClick={() => {
        go(route);
        void compare(baseline.id, capture.id);
      }}
    >
      Compare
    </button>
  );
}
