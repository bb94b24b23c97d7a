import { ENGINE_VERSION } from '../../../core/version.ts';
import type { HostHandlers } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { demoPresent } from '../demo.ts';
import type { Keeper } from '../keeper.ts';

type Base = Pick<Context, 'shell' | 'version' | 'printPdf' | 'jobs'> & {
  readonly keeper: Keeper;
  readonly showFolder: unknown;
};

/** What the window asks first, and the one thing that can be stopped whatever is open. */
export function infoHandlers(base: Base): Pick<HostHandlers, 'app.info' | 'job.cancel'> {
  return {
    'app.info': async () => {
      const { collection, trouble, isCopy } = base.keeper.seat();
      return {
        shell: base.shell,
        version: base.version,
        engineVersion: ENGINE_VERSION,
        collectionFolder: base.keeper.folder,
        demoPresent: collection !== null && demoPresent(collection.db),
        notices: collection?.notices ?? [],
        canPrintPdf: base.printPdf !== null,
        canShowFolder: base.showFolder !== null,
        trouble,
        isCopy,
      };
    },
    'job.cancel': async ({ jobId }) => {
      base.jobs.cancel(jobId);
      return {};
    },
  };
}
