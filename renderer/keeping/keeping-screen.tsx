import { useDaybook, useModel } from '../state/use.ts';
import { Crumb, Refused, ScreenTitle } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';
import { AutomaticPart } from './automatic-part.tsx';
import { AsideList, BackupList, FolderButton } from './backups.tsx';
import { CheckPart } from './check-part.tsx';
import { ExportPart } from './export-part.tsx';
import { useKeepingStatus } from './use-status.ts';
import { formatBytes } from './words.ts';

/** The collection as a thing to be kept: whether it is whole, its backups, and what leaves it. */
export function KeepingScreen() {
  const { value: status, wrong, reload } = useKeepingStatus();
  const { host, run, say } = useModel();
  const canShow = useDaybook((state) => state.info?.canShowFolder ?? false);
  const backUp = async (): Promise<void> => {
    const made = await run('Making a backup', (jobId) => host.call('keeping.backUp', { jobId }));
    if (made === null) return;
    const left =
      made.missing.length === 0
        ? ''
        : ` ${made.missing.length} damaged or missing pictures are not in it: check the collection.`;
    say(
      `Backup made and read back: ${made.pictures} pictures, ${formatBytes(made.byteLength)}.${left}`,
      made.missing.length === 0 ? 'plain' : 'problem',
    );
    reload();
  };
  return (
    <div className="screen keeping">
      <Crumb to="#/" name="Shelf" />
      <div className="screen-head">
        <ScreenTitle>Safekeeping</ScreenTitle>
        <div className="actions">
          <a className="button button-quiet" href="#/bin">
            <Icon name="bin" />
            Bin
          </a>
          <button type="button" className="button button-main" onClick={() => void backUp()}>
            Make a backup
          </button>
        </div>
      </div>
      {wrong !== null && <Refused sentence={wrong} />}
      {status !== null && (
        <>
          <p className="hint">
            The collection: <span className="keeping-file">{status.folder}</span>
            {canShow && <FolderButton which="collection" />}
          </p>
          <section aria-labelledby="keeping-backups">
            <div className="section-head">
              <h2 id="keeping-backups">Backups</h2>
              {canShow && <FolderButton which="backups" />}
            </div>
            <p className="hint">
              One file holds everything, with a checksum for each part. Taking one back checks all of it
              first; what is here now is kept aside and can be taken back in turn.
            </p>
            <BackupList status={status} reload={reload} />
          </section>
          {status.aside.length > 0 && (
            <section aria-labelledby="keeping-aside">
              <h2 id="keeping-aside">Kept aside</h2>
              <p className="hint">
                What a backup replaced. It takes up room on the disk; when you are sure that you do not need
                it, remove its folder in your file manager.
              </p>
              <AsideList status={status} reload={reload} />
            </section>
          )}
          <CheckPart status={status} />
          <AutomaticPart key={status.settings.backupFolder ?? ''} status={status} reload={reload} />
          <ExportPart />
        </>
      )}
    </div>
  );
}
