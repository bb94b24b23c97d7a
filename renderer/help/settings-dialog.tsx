import { useDaybook, useModel } from '../state/use.ts';
import { DialogFrame } from '../ui/dialog.tsx';
import { ChoiceField } from '../ui/fields.tsx';
import { KeptNumberField } from '../ui/kept-number.tsx';

/** Takes effect at once; there is nothing to confirm. */
export function SettingsDialog() {
  const { open, set } = useModel();
  const settings = useDaybook((state) => state.settings);
  const [from, to] = settings.practiceHours;
  return (
    <DialogFrame title="Settings" fleeting onClose={() => open(null)}>
      <div className="form">
        <ChoiceField
          label="Lengths in"
          value={settings.unit}
          choices={[
            { value: 'um', label: 'micrometres (µm)' },
            { value: 'mil', label: 'mil (25.4 µm)' },
          ]}
          onChange={(unit) => set({ unit })}
        />
        <ChoiceField
          label="Appearance"
          value={settings.theme}
          choices={[
            { value: 'system', label: 'as the system' },
            { value: 'light', label: 'light' },
            { value: 'dark', label: 'dark' },
          ]}
          onChange={(theme) => set({ theme })}
        />
        <KeptNumberField
          label="Minutes a side"
          hint="Used for records and sides"
          suffix="min"
          min={0.5}
          max={120}
          value={settings.minutesPerSide}
          onChange={(minutesPerSide) => set({ minutesPerSide })}
        />
        <KeptNumberField
          label="Sides in an evening"
          hint="Used where you log an evening"
          min={0.5}
          max={50}
          value={settings.sidesPerEvening}
          onChange={(sidesPerEvening) => set({ sidesPerEvening })}
        />
        <ChoiceField
          label="Paper"
          value={settings.paper}
          choices={[
            { value: 'A4', label: 'A4' },
            { value: 'Letter', label: 'Letter' },
          ]}
          onChange={(paper) => set({ paper })}
        />
        <KeptNumberField
          label="Common practice: from"
          hint="Hours at which people think about a new stylus; no standard"
          suffix="h"
          min={1}
          max={to}
          value={from}
          onChange={(next) => set({ practiceHours: [next, to] })}
        />
        <KeptNumberField
          label="Common practice: to"
          suffix="h"
          min={from}
          max={100_000}
          value={to}
          onChange={(next) => set({ practiceHours: [from, next] })}
        />
      </div>
    </DialogFrame>
  );
}
