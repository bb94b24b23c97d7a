import type { HostHandlers, StudyList } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { mustHaveHappened } from '../happened.ts';
import { chooseStudies, countedStudies, createStudy, listStudies, studyPage } from '../store/studies.ts';
import { readStylus } from '../store/styluses.ts';
import { countOutdated, redoOutdated } from '../studies.ts';

type Names = 'study.list' | 'study.page' | 'study.create' | 'study.choose' | 'study.redo';

/** A person's own repeatability: studies, which of them count, and what is measured anew with them. */
export function studyHandlers(context: Context): Pick<HostHandlers, Names> {
  const { db } = context.collection;
  const list = (): StudyList => ({
    studies: listStudies(db),
    counted: countedStudies(db),
    outdated: countOutdated(context),
  });
  return {
    'study.list': async () => list(),
    'study.page': async ({ id }) => studyPage(db, id),
    'study.create': async (draft) => {
      readStylus(db, draft.stylusId);
      mustHaveHappened([draft.day]);
      const study = createStudy(db, draft);
      context.emit('changed', { stylusId: study.stylusId });
      return study;
    },
    'study.choose': async ({ microscope, ids }) => {
      chooseStudies(db, microscope, ids);
      context.emit('changed', { stylusId: null });
      return list();
    },
    'study.redo': ({ jobId }) =>
      context.jobs.run(jobId, context.timeLimitMs, (options) => redoOutdated(context, options)),
  };
}
