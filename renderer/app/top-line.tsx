/**
 * The line on top of every view: places, provenance in a frame, run state and
 * clock, health of link, recorder and disk, and who is signed on.
 */
import { useState } from 'react';
import type { Provenance, StreamName } from '../../shared-core/bridge/contract.ts';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { useConnection } from './bridge-client.ts';
import { diskWord, type HealthWord, latencyWord, linkWord, recorderWord, screenWord } from './health.ts';
import { addressOf, type Place, places, placeTitles } from './places.ts';
import { runStateWords } from './run-state-words.ts';
import { useScreenLatency } from './screen-latency.ts';
import { changeSettings, useSettings } from './settings.ts';
import { SettingsDialog } from './settings-dialog.tsx';
import { useStream } from './stream-store.ts';

/** The stream that a place shows: Review shows the replay, all others the live one. */
export function streamOfPlace(place: Place): StreamName {
  return place === 'review' ? 'replay' : 'live';
}

export function TopLine({ place }: { readonly place: Place }) {
  const [isOpen, setOpen] = useState(false);
  const by = useSettings((s) => s.by);
  const theme = useSettings((s) => s.theme);
  return (
    <header className="top-line">
      <nav className="places" aria-label="Places">
        {places.map((p, i) => (
          <a key={p} href={addressOf(p)} aria-current={p === place ? 'page' : undefined} data-testid={`place-${p}`}>
            {placeTitles[p]}
            <kbd>{i + 1}</kbd>
          </a>
        ))}
      </nav>
      <ProvenanceFrame stream={streamOfPlace(place)} />
      <RunStateClock stream={streamOfPlace(place)} />
      <span className="spacer" />
      <Health />
      <div className="seat">
        <Button
          small
          tone="quiet"
          onClick={() => setOpen(true)}
          data-testid="seat"
          aria-label={`Seat: ${by}. Settings and about`}
        >
          {by}
        </Button>
        <Button
          small
          onClick={() => changeSettings({ theme: theme === 'day' ? 'cell' : 'day' })}
          data-testid="theme"
          aria-label={theme === 'day' ? 'Change to the dark cell theme' : 'Change to the light day theme'}
        >
          {theme === 'day' ? 'Cell' : 'Day'}
        </Button>
      </div>
      <SettingsDialog isOpen={isOpen} onClose={() => setOpen(false)} />
    </header>
  );
}

const provenanceSentences: Readonly<Record<Provenance, string>> = {
  LIVE: 'Live: these values come from the bench now.',
  SIMULATED: 'Simulated: no engine is running; these values come from the simulator.',
  REPLAY: 'Replay: these values were recorded.',
};

export function ProvenanceFrame({ stream }: { readonly stream: StreamName }) {
  const provenance = useStream(stream, (s) => s.snapshot?.provenance ?? null);
  const hasSource = useStream(stream, (s) => stream === 'replay' || s.snapshot?.source.kind !== 'none');
  if (!provenance || !hasSource) {
    return (
      <span className="frame-word" data-provenance="NONE" data-testid="provenance">
        {stream === 'replay' ? 'REPLAY' : 'NO SOURCE'}
      </span>
    );
  }
  return (
    <span
      className="frame-word"
      data-provenance={provenance}
      data-testid="provenance"
      title={provenanceSentences[provenance]}
    >
      {provenance}
    </span>
  );
}

function RunStateClock({ stream }: { readonly stream: StreamName }) {
  const run = useStream(stream, (s) => s.snapshot?.run ?? null);
  const now_us = useStream(stream, (s) => s.snapshot?.now_us ?? 0);
  if (!run) return <span className="run-state" data-testid="run-state" />;
  return (
    <span className="run-state" data-testid="run-state" data-state={run.state}>
      <b>{runStateWords[run.state]}</b> {formatClock((now_us - run.since_us) / 1e6)}
      {run.run > 0 && <span> · run {run.run}</span>}
    </span>
  );
}

function Health() {
  const source = useStream('live', (s) => s.snapshot?.source);
  const link = useStream('live', (s) => s.snapshot?.link);
  const recorder = useStream('live', (s) => s.snapshot?.recorder);
  const mergedSteps = useStream('live', (s) => s.mergedSteps);
  const mergedAt_ms = useStream('live', (s) => s.mergedAt_ms);
  const alarmLatency = useStream('live', (s) => s.snapshot?.latency ?? null);
  const screenLatency = useScreenLatency();
  const isOpen = useConnection((c) => c.state === 'open');
  if (!source || !link || !recorder) return <div className="health" />;
  const screen = screenWord(mergedSteps, performance.now() - mergedAt_ms);
  const delay = latencyWord(screenLatency, alarmLatency);
  const lost: HealthWord = { word: 'not known', level: 'warning', detail: 'The page has lost the host.' };
  return (
    <div className="health" data-testid="health">
      <HealthPart title="Link" health={isOpen ? linkWord(source, link) : lost} testId="health-link" />
      <HealthPart title="Rec" health={isOpen ? recorderWord(recorder) : lost} testId="health-recorder" />
      <HealthPart title="Disk" health={isOpen ? diskWord(recorder) : lost} testId="health-disk" />
      {isOpen && source.state === 'open' && delay && (
        <HealthPart title="Delay" health={delay} testId="health-latency" />
      )}
      {isOpen && screen && <HealthPart title="Screen" health={screen} testId="health-screen" />}
    </div>
  );
}

function HealthPart({
  title,
  health,
  testId,
}: {
  readonly title: string;
  readonly health: HealthWord;
  readonly testId: string;
}) {
  return (
    <span title={health.detail} data-testid={testId} data-level={health.level ?? 'none'}>
      {health.level && <LevelMark level={health.level} size={16} />}
      {title} <b>{health.word}</b>
    </span>
  );
}
