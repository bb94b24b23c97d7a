import { useState } from 'react';
import type { Capture, StylusPage } from '../../shared/index.ts';
import { formatDated } from '../format.ts';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { NotThere } from '../stylus/stylus-page.tsx';
import { Cautions, Crumb, Picture, ScreenTitle } from '../ui/bits.tsx';
import { AddStepPicture } from './add-picture.tsx';
import { Pictogram } from './pictograms.tsx';
import { STEPS, waysToLook, type Step } from './steps.ts';
import { verdictOf, type Verdict } from './verdict.ts';

/** The first pictures of a new stylus, step by step. What is done is told by the pictures themselves, so a step that was skipped waits. */
export function FirstSetScreen() {
  const page = useDaybook((state) => state.page);
  const problem = useDaybook((state) => state.problem);
  if (page === null)
    return problem === null ? <p className="waiting">Opening…</p> : <NotThere sentence={problem} />;
  return <FirstSet page={page} />;
}

const pictureOf = (page: StylusPage, step: Step): Capture | null =>
  page.captures.find((one) => one.view === step.view && one.isBaseline) ??
  page.captures.find((one) => one.view === step.view) ??
  null;

function FirstSet({ page }: { readonly page: StylusPage }) {
  const missing = STEPS.findIndex((step) => pictureOf(page, step) === null);
  const [at, setAt] = useState(missing < 0 ? 0 : missing);
  const step = STEPS[at];
  const done = STEPS.filter((one) => pictureOf(page, one) !== null).length;
  return (
    <div className="screen first-set">
      <Crumb to={writeRoute({ screen: 'stylus', stylusId: page.stylus.id })} name={page.stylus.name} />
      <ScreenTitle>First set of pictures</ScreenTitle>
      <p className="hint">
        {`There: ${done} of ${STEPS.length}. Every step can be skipped and taken up later; each picture becomes the baseline of its view.`}
      </p>
      <ol className="step-list" aria-label="Steps">
        {STEPS.map((one, index) => (
          <li key={one.view}>
            <button
              type="button"
              className="chip"
              aria-current={index === at ? 'step' : undefined}
              aria-pressed={index === at}
              onClick={() => setAt(index)}
            >
              {`${index + 1}. ${one.name}`}
              <span className="step-state">{pictureOf(page, one) === null ? ' – open' : ' – there'}</span>
            </button>
          </li>
        ))}
      </ol>
      <StepView
        key={step.view}
        page={page}
        step={step}
        capture={pictureOf(page, step)}
        last={at === STEPS.length - 1}
        onNext={() => setAt(Math.min(at + 1, STEPS.length - 1))}
      />
      <p className="hint first-set-next">
        New at this microscope? How far your own readings scatter is found with a stylus that has flats, taken
        out and put back five times:{' '}
        <a href={writeRoute({ screen: 'studies', stylusId: page.stylus.id })}>Repeatability</a>
      </p>
    </div>
  );
}

type StepProps = {
  readonly page: StylusPage;
  readonly step: Step;
  readonly capture: Capture | null;
  readonly last: boolean;
  readonly onNext: () => void;
};

function StepView({ page, step, capture, last, onNext }: StepProps) {
  const [again, setAgain] = useState(false);
  const stylusId = page.stylus.id;
  return (
    <section className="step" aria-labelledby="step-name">
      <div className="step-how">
        <h2 id="step-name">{step.name}</h2>
        <Pictogram pose={step.view} title={step.drawing} />
        <p className="hint">{step.drawing}</p>
        <ul>
          {step.hold.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ul>
        <p>{step.why}</p>
        <Cautions title="Before you move your hand" lines={step.cautions} />
      </div>
      <div className="step-picture">
        {capture !== null && <StepVerdict page={page} capture={capture} />}
        {(capture === null || again) && (
          <AddStepPicture page={page} step={step} onAdded={() => setAgain(false)} />
        )}
        <div className="actions">
          <a className="button" href={writeRoute({ screen: 'camera', stylusId, view: step.view })}>
            Take it live
          </a>
          {capture !== null && !again && (
            <button type="button" className="button" onClick={() => setAgain(true)}>
              Take another picture for this step
            </button>
          )}
          {last ? (
            <a className="button" href={writeRoute({ screen: 'stylus', stylusId })}>
              To the stylus
            </a>
          ) : (
            <button type="button" className="button" onClick={onNext}>
              {capture === null ? 'Skip for now' : 'Next step'}
            </button>
          )}
        </div>
      </div>
    </section>
  );
}

const STATE_WORDS: Readonly<Record<Verdict['state'], string>> = {
  good: 'Good',
  partly: 'Good in part',
  not: 'Not good enough',
  open: 'Not looked at',
};

function StepVerdict({ page, capture }: { readonly page: StylusPage; readonly capture: Capture }) {
  const { unit } = useDaybook((state) => state.settings);
  const busy = useDaybook((state) => Object.keys(state.jobs).length > 0);
  const { host, run, refresh, open } = useModel();
  const verdict = verdictOf(capture, unit);
  const look = async (): Promise<void> => {
    for (const method of waysToLook(capture.view))
      await run('Looking at the picture', (jobId) => host.call(method, { id: capture.id, jobId }));
    await refresh();
  };
  return (
    <div className={`step-verdict verdict-${verdict.state}`} role="status">
      <a
        className="step-thumb"
        href={writeRoute({ screen: 'look', stylusId: page.stylus.id, captureId: capture.id })}
      >
        <Picture captureId={capture.id} edge={480} alt={`The picture of ${formatDated(capture.taken)}`} />
      </a>
      <div>
        <p>
          <strong>{STATE_WORDS[verdict.state]}</strong>
          {`. ${verdict.sentence}`}
        </p>
        {capture.heldBackScale && <p className="scale-alarm">{capture.heldBackScale.reason}</p>}
        <p className="actions">
          <button type="button" className="button" disabled={busy} onClick={() => void look()}>
            {verdict.state === 'open' ? 'Look at it' : 'Look again'}
          </button>
          <button type="button" className="button" onClick={() => open({ kind: 'capture', capture })}>
            Edit
          </button>
        </p>
      </div>
    </div>
  );
}
