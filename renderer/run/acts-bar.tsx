/**
 * The few acts of the moment. "Throttle closed" and "Ignition off" work
 * whether outputs are live or locked. None of these is the stop circuit, and
 * none is drawn like one. Outcomes are in `command-line.tsx`.
 */
import { useEffect, useRef, useState } from 'react';
import type { OutputsView } from '../../shared-core/bridge/contract.ts';
import type { DiscreteInput, StarterDuty } from '../../shared-core/pipeline-contract.ts';
import type { StartLists } from '../../shared-core/program/checklist-ticks.ts';
import { ask, command, request } from '../app/bridge-client.ts';
import { tellError } from '../app/messages.ts';
import { signedOn } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { Group } from '../ui/group.tsx';
import { HoldButton } from '../ui/hold-button.tsx';
import { CommandLine } from './command-line.tsx';
import { starterWord } from './duty-word.ts';
import { inputState } from './input-words.ts';
import { outputsWord } from './outputs-word.ts';
import { ThrottleAct } from './throttle-act.tsx';

const noInputs: readonly DiscreteInput[] = [];
const noOutputs: OutputsView = { live: false, kept: false, why: '', liveFor_s: 0, falls_s: null, commands: [] };

const noLists: StartLists = { open: 0, isOverridden: false };

export function ActsBar() {
  const outputs = useStream('live', (s) => s.snapshot?.outputs ?? noOutputs);
  const inputs = useStream('live', (s) => s.snapshot?.inputs ?? noInputs);
  const starter = useStream('live', (s) => s.snapshot?.starter ?? null);
  const lists = useStream('live', (s) => s.snapshot?.startLists ?? noLists);
  const isLive = outputs.live;
  return (
    <section className="acts" aria-label="Acts" data-testid="acts" data-live={isLive}>
      <div className="acts-row">
        <OutputsLock outputs={outputs} />
        <Group className="act-group" label="Safe acts, always at hand">
          <Button
            className="act-safe"
            onClick={() => command({ name: 'THROTTLE', permille: 0 })}
            data-testid="throttle-closed"
            title="Shift+T"
          >
            Throttle closed
          </Button>
          <Button
            className="act-safe"
            onClick={() => command({ name: 'IGNITION', on: false })}
            data-testid="ignition-off"
            title="Shift+I"
          >
            Ignition off
          </Button>
        </Group>
        <ThrottleAct isLive={isLive} />
        <Button
          disabled={!isLive || inputState(inputs, 'ignition') === 1}
          onClick={() => command({ name: 'IGNITION', on: true })}
          data-testid="ignition-on"
        >
          Ignition on
        </Button>
        <StarterAct isLive={isLive} starter={starter} lists={lists} />
        <Group className="act-group" label="Supplies">
          <SwitchAct name="SUPPLY" title="Supply" state={inputState(inputs, 'supply')} canTurnOn={isLive} />
          <SwitchAct name="SERVO" title="Servo" state={inputState(inputs, 'servo')} canTurnOn={isLive} />
          <SwitchAct name="FAN" title="Fan" state={inputState(inputs, 'fan')} canTurnOn={true} />
        </Group>
      </div>
      <div className="acts-foot">
        <p className="outputs-word" data-testid="outputs-word" title={outputsWord(outputs)}>
          {outputsWord(outputs)}
        </p>
        <CommandLine commands={outputs.commands} />
        <p className="acts-not">Not the emergency stop: that is hard-wired on the stand.</p>
      </div>
    </section>
  );
}

/** How long the second step of unlocking waits before it goes back. */
const UNLOCK_WAIT_MS = 8000;

/** Also in the guide that sets the throttle's travel. */
export function OutputsLock({ outputs }: { readonly outputs: OutputsView }) {
  const [isAsking, setAsking] = useState(false);
  useEffect(() => {
    if (!isAsking) return;
    const timer = setTimeout(() => setAsking(false), UNLOCK_WAIT_MS);
    return () => clearTimeout(timer);
  }, [isAsking]);
  const set = (live: boolean): void => {
    setAsking(false);
    void ask('outputs.live', { by: signedOn(), live });
  };
  return (
    <div className="outputs-lock" data-testid="outputs" data-live={outputs.live}>
      <p role="status">
        Outputs <b>{outputs.live ? 'LIVE' : 'locked'}</b>
        {outputs.live && <span data-testid="outputs-for"> {formatClock(outputs.liveFor_s)}</span>}
      </p>
      {outputs.live ? (
        <Button onClick={() => set(false)} data-testid="outputs-lock">
          Lock
        </Button>
      ) : isAsking ? (
        <HoldButton onConfirm={() => set(true)} confirm_ms={1000} data-testid="outputs-confirm">
          Hold for live
        </HoldButton>
      ) : (
        <Button onClick={() => setAsking(true)} data-testid="outputs-unlock">
          Unlock…
        </Button>
      )}
    </div>
  );
}

/** A hold is said again this often; the host lets go by itself when a page falls silent for half a second. */
const HOLD_AGAIN_MS = 150;

interface StarterActProps {
  readonly isLive: boolean;
  readonly starter: StarterDuty | null;
  readonly lists: StartLists;
}

function StarterAct({ isLive, starter, lists }: StarterActProps) {
  const [isHeld, setHeld] = useState(false);
  const again = useRef<ReturnType<typeof setInterval> | null>(null);
  const press = useRef(0);
  const isListOpen = lists.open > 0 && !lists.isOverridden;
  const isResting = starter !== null && !starter.isEngaged && starter.restLeft_s > 0;

  const stopSaying = (): void => {
    if (again.current) clearInterval(again.current);
    again.current = null;
  };
  const hold = (held: boolean): void => {
    setHeld(held);
    stopSaying();
    const by = signedOn();
    if (!held) {
      void ask('outputs.starter', { by, held, press: press.current });
      return;
    }
    // Each press has a number of its own, whatever page it comes from: one that has ended is not taken up again.
    press.current = crypto.getRandomValues(new Uint32Array(1))[0] ?? 0;
    const say = async (): Promise<void> => {
      const answer = await request('outputs.starter', { by, held: true, press: press.current });
      // Refused once (locked, or its time used up): it is not asked for again until pressed anew.
      if (!answer.ok && again.current) {
        stopSaying();
        tellError(answer.error);
      }
    };
    again.current = setInterval(() => void say(), HOLD_AGAIN_MS);
    void say();
  };

  return (
    <div className="starter-act" data-testid="starter" data-engaged={starter?.isEngaged ?? false}>
      <HoldButton
        // While it is held the duty rule is the host's to keep: a button that went dead would let go by itself.
        disabled={!isLive || ((isResting || isListOpen) && !isHeld)}
        onHold={hold}
        data-testid="starter-hold"
        aria-label="Hold to crank the starter"
      >
        Hold to crank
      </HoldButton>
      <span data-testid="starter-duty">{starterWord(starter, lists)}</span>
    </div>
  );
}

interface SwitchActProps {
  readonly name: 'SUPPLY' | 'SERVO' | 'FAN';
  readonly title: string;
  readonly state: DiscreteInput['state'];
  /** Turning off is always allowed. */
  readonly canTurnOn: boolean;
}

function SwitchAct({ name, title, state, canTurnOn }: SwitchActProps) {
  const isOn = state === 1;
  return (
    <Button
      className="switch-act"
      aria-pressed={isOn}
      disabled={!isOn && !canTurnOn}
      onClick={() => command({ name, on: !isOn })}
      data-testid={`switch-${name.toLowerCase()}`}
    >
      {title}
      <small>{state === 'X' ? 'not known' : isOn ? 'on' : 'off'}</small>
    </Button>
  );
}
