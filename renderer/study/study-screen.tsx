import type { Capture, StudyPage } from '../../shared/index.ts';
import { formatDate } from '../format.ts';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { NotThere } from '../stylus/stylus-page.tsx';
import { Cautions, Crumb, Picture, ScreenTitle } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';
import { CAUTIONS } from '../words.ts';
import { AddStudyPicture } from './add-picture.tsx';
import { OutdatedNotice } from './outdated.tsx';
import { useStudies, useStudy } from './use-study.ts';
import { countingText, LEAST, progressText, readingText, resultSentences, unread } from './words.ts';

/** One repeatability study, step by step: take it out, put it back, take a picture, read it. */
export function StudyScreen({ studyId }: { readonly studyId: string }) {
  const { value, problem } = useStudy(studyId);
  if (value !== null) return <Study data={value} />;
  return problem === null ? <p className="waiting">Opening…</p> : <NotThere sentence={problem} />;
}

function Study({ data }: { readonly data: StudyPage }) {
  const { host, run, refresh } = useModel();
  const { study, stylusName, readings } = data.seen;
  const look = async (capture: Capture): Promise<void> => {
    await run('Reading the picture', (jobId) => host.call('capture.examine', { id: capture.id, jobId }));
    await refresh();
  };
  const open = unread(data);
  const readAll = async (): Promise<void> => {
    for (const one of open) await look(one);
  };
  return (
    <div className="screen study">
      <Crumb to={writeRoute({ screen: 'studies', stylusId: study.stylusId })} name="Repeatability" />
      <ScreenTitle>{`Repeatability study of ${formatDate(study.day)}`}</ScreenTitle>
      <p className="hint">
        {`${study.who === '' ? 'Nobody named' : study.who}, with “${study.microscope}”, on the stylus “${stylusName}”`}
      </p>
      <div className="study-progress" role="status">
        <strong>{progressText(readings)}</strong>
        <progress aria-label="Readings" max={LEAST} value={Math.min(LEAST, readings)} />
      </div>
      <div className="step">
        <section className="step-how" aria-labelledby="study-how">
          <h2 id="study-how">Each time anew</h2>
          <ol>
            <li>Take the stylus from under the microscope and lay it down.</li>
            <li>Put it back as you always do: along the groove (front view), light and zoom as before.</li>
            <li>Focus as you always do, and take the picture.</li>
            <li>Add it here. Do not choose the nicest of several: what varies is what is asked.</li>
          </ol>
          <p>
            All in one sitting, and with a stylus whose flats are seen: only they can be read again and again.
          </p>
          <Cautions title="Before you move your hand" lines={CAUTIONS.handling} />
        </section>
        <section className="step-picture" aria-label="The next picture">
          <AddStudyPicture data={data} look={look} />
          <div className="actions">
            <a
              className="button"
              href={writeRoute({
                screen: 'camera',
                stylusId: study.stylusId,
                view: 'front',
                studyId: study.id,
              })}
            >
              <Icon name="camera" />
              Take it live
            </a>
            {open.length > 0 && (
              <button type="button" className="button" onClick={() => void readAll()}>
                {open.length === 1 ? 'Read the new picture' : `Read the ${open.length} new pictures`}
              </button>
            )}
          </div>
        </section>
      </div>
      <Readings data={data} />
      <Result data={data} />
    </div>
  );
}

function Readings({ data }: { readonly data: StudyPage }) {
  const { unit } = useDaybook((state) => state.settings);
  const { bin } = useModel();
  const { captures, seen } = data;
  if (captures.length === 0) return null;
  return (
    <section aria-labelledby="study-readings">
      <h2 id="study-readings">Readings</h2>
      <div className="study-scroll">
        <table className="table study-table">
          <thead>
            <tr>
              <th scope="col">Picture</th>
              <th scope="col">Left</th>
              <th scope="col">Right</th>
              <th scope="col">Radius</th>
              <th scope="col">Verdict</th>
              <th scope="col">
                <span className="visually-hidden">Taking it out</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {captures.map((capture, index) => {
              const text = readingText(capture, unit);
              const name = `picture ${index + 1}`;
              return (
                <tr key={capture.id} className={text.good ? '' : 'study-not'}>
                  <th scope="row">
                    <a
                      className="study-thumb"
                      href={writeRoute({
                        screen: 'look',
                        stylusId: seen.study.stylusId,
                        captureId: capture.id,
                      })}
                    >
                      <Picture captureId={capture.id} edge={160} alt="" />
                      <span>{`${index + 1}. ${capture.fileName}`}</span>
                    </a>
                  </th>
                  <td data-label="Left">{text.left}</td>
                  <td data-label="Right">{text.right}</td>
                  <td data-label="Radius">{text.radius}</td>
                  <td className="study-verdict">{text.verdict}</td>
                  <td>
                    <button
                      type="button"
                      className="button button-quiet"
                      onClick={() => void bin('capture', capture.id, `The ${name} of the study`)}
                    >
                      <Icon name="bin" />
                      Take out
                      <span className="visually-hidden">{`: ${name}`}</span>
                    </button>
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </div>
      <p className="hint">
        Take a picture out only for a reason that you could name without looking at its reading: out of focus,
        knocked, wrong view. One that is merely far off belongs to what is asked.
      </p>
    </section>
  );
}

function Result({ data }: { readonly data: StudyPage }) {
  const { unit } = useDaybook((state) => state.settings);
  const { host, attempt, done, refresh } = useModel();
  const list = useStudies().value;
  const { study, result, readings } = data.seen;
  if (result === null)
    return (
      <section aria-labelledby="study-result">
        <h2 id="study-result">What it says</h2>
        <p className="hint">
          {`Nothing yet: ${LEAST - readings} more reading${LEAST - readings === 1 ? '' : 's'} and it says how far one reading of yours scatters.`}
        </p>
      </section>
    );
  const choose = async (ids: string[], text: string): Promise<void> => {
    const chosen = await attempt(() => host.call('study.choose', { microscope: study.microscope, ids }));
    if (chosen === null) return;
    await done(text);
    await refresh();
  };
  const counts = study.counts;
  const usable = result.left !== null || result.right !== null;
  return (
    <section aria-labelledby="study-result">
      <h2 id="study-result">What it says</h2>
      <div className="study-result">
        {resultSentences(result, unit).map((sentence) => (
          <p key={sentence}>{sentence}</p>
        ))}
      </div>
      {list !== null && usable && <p>{countingText(data.seen, list.counted)}</p>}
      <div className="actions">
        {usable && !counts && (
          <button
            type="button"
            className="button button-main"
            onClick={() => void choose([study.id], 'This study counts from now on.')}
          >
            Let this study count
          </button>
        )}
        {counts && (
          <button
            type="button"
            className="button"
            onClick={() => void choose([], 'No study counts for this microscope now.')}
          >
            Let no study count
          </button>
        )}
        <a className="button" href={writeRoute({ screen: 'studies', stylusId: study.stylusId })}>
          All studies
        </a>
      </div>
      <OutdatedNotice outdated={list?.outdated ?? 0} />
    </section>
  );
}
