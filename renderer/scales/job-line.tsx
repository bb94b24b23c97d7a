import { useDaybook, useModel } from '../state/use.ts';

/** What runs, inside a dialog: the bar at the window's foot lies behind it and cannot be reached. */
export function JobLine() {
  const jobs = useDaybook((state) => state.jobs);
  const { cancel } = useModel();
  const [job] = Object.values(jobs);
  if (job === undefined) return null;
  return (
    <div className="job job-inside">
      <span role="status">{`${job.title}: ${job.cancelling ? 'stopping' : job.stage}`}</span>
      <progress aria-label={job.title} max={1} value={job.fraction} />
      <button type="button" className="button" disabled={job.cancelling} onClick={() => void cancel(job.id)}>
        Stop
      </button>
    </div>
  );
}
