import { Icon } from '../ui/icons.tsx';

/** A scale was taken away: said loudly, wherever the picture is shown. */
export function ScaleAlarm({ sentence }: { readonly sentence: string }) {
  return (
    <p className="scale-alarm field-wide" role="alert">
      <Icon name="warn" />
      <span>{sentence}</span>
    </p>
  );
}
