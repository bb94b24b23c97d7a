import { useState } from 'react';
import type { KeepingSettings, KeepingStatus } from '../../shared/index.ts';
import { useModel } from '../state/use.ts';
import { LiveNumberField, TextField, TickField } from '../ui/fields.tsx';

/** What happens unasked, and where backups go. Takes effect at once. */
export function AutomaticPart({
  status,
  reload,
}: {
  readonly status: KeepingStatus;
  readonly reload: () => void;
}) {
  const { host, attempt } = useModel();
  const { settings } = status;
  const [folder, setFolder] = useState(settings.backupFolder ?? '');
  const set = async (change: Partial<KeepingSettings>): Promise<void> => {
    await attempt(() => host.call('keeping.set', { ...settings, ...change }));
    reload();
  };
  const wished = folder.trim() === '' ? null : folder.trim();
  return (
    <section aria-labelledby="keeping-automatic">
      <h2 id="keeping-automatic">Without being asked</h2>
      <div className="form">
        <TextField
          label="Folder for backups"
          hint="The whole path, best on another disk. Empty: the folder “backups” inside the collection, which does not help when this disk fails."
          value={folder}
          onChange={setFolder}
          wide
        />
        <button
          type="button"
          className="button"
          disabled={wished === settings.backupFolder}
          onClick={() => void set({ backupFolder: wished })}
        >
          Use this folder
        </button>
        <TickField
          label="Make a backup by itself"
          checked={settings.backupEveryDays !== null}
          onChange={(on) => void set({ backupEveryDays: on ? 7 : null })}
        />
        {settings.backupEveryDays !== null && (
          <>
            <LiveNumberField
              label="Every"
              suffix="days"
              min={1}
              max={365}
              value={settings.backupEveryDays}
              onChange={(days) => void set({ backupEveryDays: Math.round(days) })}
            />
            <LiveNumberField
              label="Of these, keep the last"
              hint="Backups made by hand are never removed"
              min={1}
              max={100}
              value={settings.backupsKept}
              onChange={(kept) => void set({ backupsKept: Math.round(kept) })}
            />
          </>
        )}
      </div>
    </section>
  );
}
