import { useModel } from '../state/use.ts';

/** Results that were measured with another study than counts now, and the way to measure them again. */
export function OutdatedNotice({ outdated }: { readonly outdated: number }) {
  const { host, run, done, refresh } = useModel();
  if (outdated === 0) return null;
  const redo = async (): Promise<void> => {
    const made = await run('Measuring again', (jobId) => host.call('study.redo', { jobId }));
    if (made === null) return;
    const kept = made.refused === 0 ? '' : ` ${made.refused} gave no answer this time and stay as they were.`;
    await done(`${made.redone} result${made.redone === 1 ? ' was' : 's were'} measured again.${kept}`);
    await refresh();
  };
  return (
    <div className="notice study-outdated">
      <p>
        {outdated === 1
          ? 'One stored result was measured with another study than counts now, or with none.'
          : `${outdated} stored results were measured with another study than counts now, or with none.`}
      </p>
      <button type="button" className="button" onClick={() => void redo()}>
        {outdated === 1 ? 'Measure it again' : 'Measure them again'}
      </button>
    </div>
  );
}
