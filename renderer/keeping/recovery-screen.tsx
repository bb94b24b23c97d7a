import type { Trouble } from '../../shared/index.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { Refused, ScreenTitle } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';
import { AsideList, BackupList, FolderButton } from './backups.tsx';
import { useKeepingStatus } from './use-status.ts';

/** Codes for which something can still be read out of the file. */
const DAMAGED = new Set(['collection-damaged', 'not-opened']);

/**
 * Shown instead of everything else when the collection cannot be opened. Ways forward in the order of what they keep;
 * none of them deletes anything.
 */
export function RecoveryScreen({ trouble }: { readonly trouble: Trouble }) {
  const { value: status, reload } = useKeepingStatus();
  const { host, attempt, refresh, say } = useModel();
  const canShow = useDaybook((state) => state.info?.canShowFolder ?? false);
  const step = async (work: () => Promise<unknown>, said: string | null): Promise<void> => {
    const done = await attempt(work);
    await refresh();
    reload();
    if (done !== null && said !== null) say(said);
  };
  return (
    <div className="screen keeping">
      <ScreenTitle>The collection could not be opened</ScreenTitle>
      <Refused sentence={trouble.message} />
      <p>
        Nothing has been changed and nothing will be deleted, whichever way you choose. The pictures lie as
        files of their own in the folder “originals”.
      </p>
      {status !== null && (
        <p className="hint">
          The collection: <span className="keeping-file">{status.folder}</span>
        </p>
      )}
      <div className="actions">
        <button
          type="button"
          className="button"
          onClick={() => void step(() => host.call('keeping.tryAgain', {}), null)}
        >
          Try again
        </button>
        {canShow && <FolderButton which="collection" />}
      </div>
      <section aria-labelledby="recovery-backup">
        <h2 id="recovery-backup">1. Take a backup back</h2>
        <p className="hint">
          Everything in it is checked first. What is there now is kept aside, so that it can be looked at
          later.
        </p>
        {status !== null && <BackupList status={status} reload={reload} />}
      </section>
      {status !== null && status.aside.length > 0 && (
        <section aria-labelledby="recovery-aside">
          <h2 id="recovery-aside">Or what a backup replaced before</h2>
          <AsideList status={status} reload={reload} />
        </section>
      )}
      {DAMAGED.has(trouble.code) && (
        <section aria-labelledby="recovery-copy">
          <h2 id="recovery-copy">2. See what can still be read</h2>
          <p className="hint">
            Reads the damaged database into a copy, up to where the damage begins. The copy is for looking
            only; you can go on with it afterwards.
          </p>
          <button
            type="button"
            className="button"
            onClick={() => void step(() => host.call('keeping.lookInside', {}), null)}
          >
            <Icon name="search" />
            Open a copy for looking
          </button>
        </section>
      )}
    </div>
  );
}

/** Over every screen while a copy is shown. */
export function CopyBanner() {
  const { host, attempt, refresh, say, go } = useModel();
  const leave = async (): Promise<void> => {
    await attempt(() => host.call('keeping.leaveCopy', {}));
    go({ screen: 'shelf' });
    await refresh();
  };
  const keep = async (): Promise<void> => {
    const done = await attempt(() => host.call('keeping.keepSalvaged', {}));
    await refresh();
    if (done !== null)
      say('The collection goes on with what could be read. The damaged database is kept aside.');
  };
  return (
    <div className="refused copy-banner" role="status">
      <Icon name="warn" />
      <div>
        <p>
          This is what could still be read of a damaged collection, for looking only. Something may be
          missing, and nothing can be changed here.
        </p>
        <div className="actions">
          <button type="button" className="button" onClick={() => void leave()}>
            Back to the other ways
          </button>
          <button type="button" className="button" onClick={() => void keep()}>
            Go on with this
          </button>
        </div>
      </div>
    </div>
  );
}
