/** The notice of the first start: cautions of the rig sheet, and what this program is not. Read once per seat. */
import { Button } from '../ui/button.tsx';
import { Dialog } from '../ui/dialog.tsx';
import { changeSettings, useSettings } from './settings.ts';
import { useStream } from './stream-store.ts';

export const NOT_THE_STOP = 'This program is not the emergency stop. The stop circuit on the stand is.';

/** Changed when the notice says something new, so that it is read again. */
const NOTICE_VERSION = '1';

const none: readonly string[] = [];

export function Cautions() {
  const cautions = useStream('live', (s) => s.layout?.rig.cautions ?? none);
  return (
    <ul className="cautions">
      {cautions.map((c) => (
        <li key={c}>{c}</li>
      ))}
    </ul>
  );
}

export function FirstRun() {
  const noticeRead = useSettings((s) => s.noticeRead);
  const hasLayout = useStream('live', (s) => s.layout !== null);
  return (
    <Dialog
      title="Before you use this bench"
      isOpen={noticeRead !== NOTICE_VERSION && hasLayout}
      data-testid="first-run"
      foot={
        <Button
          tone="solid"
          onClick={() => changeSettings({ noticeRead: NOTICE_VERSION })}
          data-testid="first-run-read"
        >
          I have read this
        </Button>
      }
    >
      <p className="first-run-stop">{NOT_THE_STOP}</p>
      <Cautions />
      <p>
        The manuals of the engine, the propeller and the stand, and the rules of your site, come before anything shown
        here.
      </p>
    </Dialog>
  );
}
