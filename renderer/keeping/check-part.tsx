import { useState } from 'react';
import type { CheckReport, KeepingStatus } from '../../shared/index.ts';
import { useModel } from '../state/use.ts';
import { Icon } from '../ui/icons.tsx';
import { checkSentence, formatMoment } from './words.ts';

/** The full check: compares everything, changes nothing, names what is not well. */
export function CheckPart({ status }: { readonly status: KeepingStatus }) {
  const { host, run } = useModel();
  const [fresh, setFresh] = useState<CheckReport | null>(null);
  const report = fresh ?? status.lastCheck;
  const check = async (): Promise<void> => {
    const done = await run('Checking the collection', (jobId) => host.call('keeping.check', { jobId }));
    if (done !== null) setFresh(done);
  };
  return (
    <section aria-labelledby="keeping-check">
      <div className="section-head">
        <h2 id="keeping-check">Check</h2>
        <button type="button" className="button" onClick={() => void check()}>
          Check everything
        </button>
      </div>
      <p className="hint">
        Reads the whole database and compares every picture with its checksum. Nothing is changed.
      </p>
      {report === null ? (
        <p>Not checked yet.</p>
      ) : (
        <div role="status">
          <p className={report.ok ? 'keeping-fine' : 'refused'}>
            {!report.ok && <Icon name="warn" />}
            <span>
              {checkSentence(report)} <span className="hint">{formatMoment(report.at)}</span>
            </span>
          </p>
          <Findings report={report} />
        </div>
      )}
    </section>
  );
}

function Findings({ report }: { readonly report: CheckReport }) {
  const { database, originals } = report;
  const pictures = [
    ...originals.damaged.map((one) => ({ ...one, state: 'damaged' })),
    ...originals.missing.map((one) => ({ ...one, state: 'missing' })),
  ];
  if (report.ok) return null;
  return (
    <>
      {database.problems.length > 0 && (
        <ul>
          {database.problems.map((problem) => (
            <li key={problem}>{problem}</li>
          ))}
        </ul>
      )}
      {(pictures.length > 0 || originals.orphaned.length > 0) && (
        <div className="table-frame">
          <table>
            <caption>Pictures that are not well</caption>
            <thead>
              <tr>
                <th scope="col">State</th>
                <th scope="col">Shown by</th>
                <th scope="col">File in originals/</th>
              </tr>
            </thead>
            <tbody>
              {pictures.map((one) => (
                <tr key={one.file}>
                  <td>{one.state}</td>
                  <td>{one.usedBy.join('; ') || 'nothing'}</td>
                  <td className="keeping-file">{one.file}</td>
                </tr>
              ))}
              {originals.orphaned.map((file) => (
                <tr key={file}>
                  <td>orphaned</td>
                  <td>nothing</td>
                  <td className="keeping-file">{file}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      <p>
        What is damaged or missing comes back with a backup that was made before; everything else stays
        usable. Orphaned files go to the folder “bin” at the next start.
      </p>
    </>
  );
}
