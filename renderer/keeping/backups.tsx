import { useState } from 'react';
import type { Backup, KeepingStatus } from '../../shared/index.ts';
import { useModel } from '../state/use.ts';
import { TextField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { BACKUP_KIND, formatBytes, formatMoment } from './words.ts';

/** Takes a backup back; what is there now is kept aside, so that nothing has to be asked first. */
export function useRestore(reload: () => void): (path: string) => Promise<void> {
  const { host, run, say, refresh, go } = useModel();
  return async (path) => {
    const restored = await run('Taking a backup back', (jobId) =>
      host.call('keeping.restore', { path, jobId }),
    );
    if (restored === null) return;
    const lacking =
      restored.missing.length === 0 ? '' : ` The backup itself lacks ${restored.missing.length} pictures.`;
    const name = restored.aside.replace('aside/', '');
    say(`The backup is back. What was here before is kept aside.${lacking}`, 'plain', async () => {
      await host.call('keeping.takeAsideBack', { name });
      await refresh();
    });
    go({ screen: 'keeping' });
    await refresh();
    reload();
  };
}

export function BackupList({
  status,
  reload,
}: {
  readonly status: KeepingStatus;
  readonly reload: () => void;
}) {
  const restore = useRestore(reload);
  const [path, setPath] = useState('');
  return (
    <>
      {status.backups.length === 0 ? (
        <p className="hint">No backup yet in the places that are known.</p>
      ) : (
        <ul className="keeping-list" aria-label="Backups">
          {status.backups.map((backup) => (
            <BackupRow key={backup.path} backup={backup} onRestore={() => void restore(backup.path)} />
          ))}
        </ul>
      )}
      <div className="form keeping-path">
        <TextField
          label="A backup that lies elsewhere"
          hint="The whole path of its file, from the root"
          value={path}
          onChange={setPath}
          wide
        />
        <button
          type="button"
          className="button"
          disabled={path.trim() === ''}
          onClick={() => void restore(path.trim())}
        >
          Take this one back
        </button>
      </div>
    </>
  );
}

function BackupRow({ backup, onRestore }: { readonly backup: Backup; readonly onRestore: () => void }) {
  const { host, run, say } = useModel();
  const when = formatMoment(backup.at);
  const verify = async (): Promise<void> => {
    const done = await run('Checking a backup', (jobId) =>
      host.call('keeping.verify', { path: backup.path, jobId }),
    );
    if (done !== null) say(`The backup of ${when} is whole: ${done.files} files compared.`);
  };
  return (
    <li>
      <div>
        <strong>{when}</strong>
        <span className="hint">
          {BACKUP_KIND[backup.kind]}, {formatBytes(backup.byteLength)}
        </span>
        <span className="hint keeping-file">{backup.path}</span>
      </div>
      <div className="actions">
        {backup.kind !== 'before-format' && (
          <button type="button" className="button button-quiet" onClick={() => void verify()}>
            Check
            <span className="visually-hidden">{` the backup of ${when}`}</span>
          </button>
        )}
        <button type="button" className="button" onClick={onRestore}>
          <Icon name="undo" />
          Take back
          <span className="visually-hidden">{` the backup of ${when}`}</span>
        </button>
      </div>
    </li>
  );
}

/** What stood in the place of a backup before it was taken back. */
export function AsideList({
  status,
  reload,
}: {
  readonly status: KeepingStatus;
  readonly reload: () => void;
}) {
  const { host, attempt, say, refresh } = useModel();
  const takeBack = async (name: string): Promise<void> => {
    const done = await attempt(() => host.call('keeping.takeAsideBack', { name }));
    if (done === null) return;
    say('The earlier collection is back. What was here is kept aside.');
    await refresh();
    reload();
  };
  return (
    <ul className="keeping-list" aria-label="Kept aside">
      {status.aside.map((one) => (
        <li key={one.name}>
          <div>
            <strong>Replaced {formatMoment(one.at)}</strong>
            <span className="hint keeping-file">{one.path}</span>
          </div>
          <button type="button" className="button" onClick={() => void takeBack(one.name)}>
            <Icon name="undo" />
            Take back
            <span className="visually-hidden">{` what was replaced ${formatMoment(one.at)}`}</span>
          </button>
        </li>
      ))}
    </ul>
  );
}

export function FolderButton({ which }: { readonly which: 'collection' | 'backups' | 'aside' }) {
  const { host, attempt } = useModel();
  return (
    <button
      type="button"
      className="button button-quiet"
      onClick={() => void attempt(() => host.call('keeping.showFolder', { which }))}
    >
      Show the folder
    </button>
  );
}
