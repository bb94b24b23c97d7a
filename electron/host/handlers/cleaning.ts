import type { HostHandlers } from '../../../shared/index.ts';
import { judgeCleaning } from '../cleaning.ts';
import type { Context } from '../context.ts';

/** A pair before and after cleaning. */
export function cleaningHandlers(context: Context): Pick<HostHandlers, 'cleaning.judge'> {
  return {
    'cleaning.judge': ({ beforeId, afterId, jobId }) =>
      context.jobs.run(jobId, context.timeLimitMs, (options) =>
        judgeCleaning(context, beforeId, afterId, options),
      ),
  };
}
