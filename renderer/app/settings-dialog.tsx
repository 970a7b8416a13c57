/** Who sits here, theme, keys, and what this program is and is not. */
import { SoundTest } from '../alarms/alarm-sound.tsx';
import { Button } from '../ui/button.tsx';
import { Dialog } from '../ui/dialog.tsx';
import { Field } from '../ui/field.tsx';
import { useConnection } from './bridge-client.ts';
import { Cautions, NOT_THE_STOP } from './first-run.tsx';
import { changeSettings, useSettings } from './settings.ts';

export function SettingsDialog({ isOpen, onClose }: { readonly isOpen: boolean; readonly onClose: () => void }) {
  const settings = useSettings();
  const hello = useConnection((c) => c.hello);
  return (
    <Dialog
      title="This seat"
      isOpen={isOpen}
      onClose={onClose}
      data-testid="settings"
      foot={
        <Button tone="solid" onClick={onClose}>
          Close
        </Button>
      }
    >
      <Field label="Signed on as" hint="A role such as operator 1. It is recorded beside every act.">
        {(ids) => (
          <input
            {...ids}
            className="input"
            maxLength={40}
            defaultValue={settings.by}
            data-testid="signed-on"
            onChange={(e) => {
              const by = e.target.value.trim();
              if (by !== '') changeSettings({ by });
            }}
          />
        )}
      </Field>
      <fieldset className="choice">
        <legend>Theme</legend>
        <label>
          <input
            type="radio"
            name="theme"
            checked={settings.theme === 'day'}
            onChange={() => changeSettings({ theme: 'day' })}
          />{' '}
          Day
        </label>
        <label>
          <input
            type="radio"
            name="theme"
            checked={settings.theme === 'cell'}
            onChange={() => changeSettings({ theme: 'cell' })}
          />{' '}
          Cell (dark control room)
        </label>
      </fieldset>
      <label className="check">
        <input
          type="checkbox"
          checked={settings.hasKeys}
          onChange={(e) => changeSettings({ hasKeys: e.target.checked })}
        />{' '}
        Single keys: 1–5 places, M mark, A acknowledge all, C confirm step, X close advisory, Shift+T throttle closed,
        Shift+I ignition off
      </label>
      <Field label="Loudness of alarms" hint="Sound never carries an alarm alone. Hear each level before a run.">
        {(ids) => (
          <input
            {...ids}
            type="range"
            min={0}
            max={1}
            step={0.1}
            value={settings.loudness}
            data-testid="loudness"
            onChange={(e) => changeSettings({ loudness: Number(e.target.value) })}
          />
        )}
      </Field>
      <SoundTest />
      <h3>About</h3>
      <p>
        Runstand {hello?.appVersion ?? ''}. {hello?.notice ?? ''}
      </p>
      <p>
        <b>{NOT_THE_STOP}</b>
      </p>
      <Cautions />
    </Dialog>
  );
}
