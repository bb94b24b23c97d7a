import type { Command } from './commands.ts';
import type { Daybook, DaybookModel, Dialog } from './model.ts';
import { stylusOf } from './route.ts';

/** Opens a dialog of a stylus on that stylus' page: what the dialog starts from stands there. */
async function openOn(model: DaybookModel, stylusId: string, dialog: Dialog): Promise<void> {
  model.go({ screen: 'stylus', stylusId });
  await model.refresh();
  const { page, route, dialog: open } = model.store.getState();
  // Somebody may have gone on meanwhile.
  if (page?.stylus.id === stylusId && stylusOf(route) === stylusId && open === null) model.open(dialog);
}

/** Where no stylus is on show, what is done with one is offered for each by its name. */
export function stylusCommands({ route, cards }: Daybook): readonly Command[] {
  if (stylusOf(route) !== null || cards === null) return [];
  const always = (): boolean => true;
  return cards.flatMap(({ stylus: { id, name, retired } }): Command[] => [
    {
      id: `stylus-${id}`,
      title: `Go to “${name}”`,
      when: always,
      run: ({ leave }) => leave({ screen: 'stylus', stylusId: id }),
    },
    ...(retired === null
      ? [
          {
            id: `log-${id}`,
            title: `Log playing time of “${name}”`,
            when: always,
            run: (model: DaybookModel) =>
              void openOn(model, id, { kind: 'playing', stylusId: id, entry: null }),
          },
        ]
      : []),
    {
      id: `compare-${id}`,
      title: `Compare two pictures of “${name}”`,
      when: always,
      run: (model) => void openOn(model, id, { kind: 'compare', stylusId: id }),
    },
    {
      id: `listening-${id}`,
      title: `Listening with “${name}”: passages, test bands, recordings`,
      when: always,
      run: ({ leave }) => leave({ screen: 'listening', stylusId: id }),
    },
  ]);
}
