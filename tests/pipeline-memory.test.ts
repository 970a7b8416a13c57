/**
 * A fold that goes on from what another remembered: over sessions of the
 * simulated bench with troubles and an operator at work, it says and shows the
 * same to the bit as the one that folded everything.
 */
import { crc32 } from 'node:zlib';
import { describe, expect, test } from 'vitest';
import { snapshotOf } from '../electron/host/snapshot.ts';
import type { JournalEvent, JournalSink, OperatorAction } from '../shared-core/journal.ts';
import { Intake } from '../shared-core/line/intake.ts';
import { FOLD_VERSION, type SavedFold } from '../shared-core/pipeline/fold-memory.ts';
import { Pipeline } from '../shared-core/pipeline.ts';
import type { PipelineView } from '../shared-core/pipeline-contract.ts';
import { lapwing120 } from '../shared-core/rig/lapwing.ts';
import type { ScenarioId } from '../simulator/scenarios.ts';
import { SimulatedBench } from '../simulator/simulated-bench.ts';

type Entry = {
  readonly ord: number;
  readonly t_us: number;
  feed(sink: JournalSink): void;
  readonly event?: JournalEvent;
};

const SECONDS = 150;
const STEP_US = 20_000;

const acts: readonly { readonly at_s: number; readonly action: OperatorAction }[] = [
  { at_s: 5, action: { kind: 'checklist-override', reason: 'a short look' } },
  { at_s: 8, action: { kind: 'mark', text: 'a first look' } },
  { at_s: 20, action: { kind: 'capture-point', name: 'P1' } },
  { at_s: 44, action: { kind: 'silence' } },
  { at_s: 52, action: { kind: 'acknowledge-all' } },
  { at_s: 60, action: { kind: 'shelve', alarmId: 'cht1-caution', reason: 'looked at it', for_min: 1 } },
  { at_s: 75, action: { kind: 'raise-advisory', cause: 'fire' } },
  { at_s: 90, action: { kind: 'capture-point', name: 'P2' } },
  { at_s: 110, action: { kind: 'reset-alarms' } },
  { at_s: 120, action: { kind: 'fasteners-locked' } },
];

function recorded(scenario: ScenarioId): Entry[] {
  const entries: Entry[] = [];
  const bench = new SimulatedBench({ seed: 20_261_125, scenario });
  const intake = new Intake({
    frame(ord, t_us, group, raw, columns) {
      const kept = raw.slice(0, columns);
      entries.push({ ord, t_us, feed: (sink) => sink.frame(ord, t_us, group, kept.slice(), columns) });
    },
    tick: (ord, t_us) => entries.push({ ord, t_us, feed: (sink) => sink.tick(ord, t_us) }),
    event: (ord, t_us, body) =>
      entries.push({ ord, t_us, event: { ord, t_us, side: 'in', body }, feed: (sink) => sink.event(ord, t_us, body) }),
  });
  intake.opened(0);
  let act = 0;
  for (let host_us = STEP_US; host_us <= SECONDS * 1e6; host_us += STEP_US) {
    bench.advance(STEP_US / 1e6);
    const bytes = bench.takeBytes();
    if (bytes.length > 0) intake.bytes(bytes, host_us);
    intake.idle(host_us);
    while (act < acts.length && host_us >= acts[act]!.at_s * 1e6)
      intake.operator('operator 1', acts[act++]!.action, host_us);
  }
  return entries;
}

/** One line for each frame and each output: what was shown, as a checksum of its bits, and what was said. */
class Witness {
  readonly lines: string[] = [];
  readonly said: JournalEvent[] = [];
  ord = 0;
  readonly observer = {
    onValues: (t_us: number, { values }: PipelineView) => {
      let sum = 0;
      for (const each of [values.value, values.updated_us]) {
        sum = crc32(new Uint8Array(each.buffer, each.byteOffset, each.byteLength), sum);
      }
      this.lines.push(`${t_us} ${crc32(values.quality, sum)}`);
    },
    onOutput: (t_us: number, body: Extract<JournalEvent, { side: 'out' }>['body']) => {
      this.lines.push(`${t_us} ${JSON.stringify(body)}`);
      this.said.push({ ord: this.ord, t_us, side: 'out', body });
    },
  };
}

const standing = (pipeline: Pipeline) => JSON.stringify({ ...snapshotOf(pipeline), unjudged: pipeline.unjudgedRules });

describe.each(['two-troubles', 'over-temperature', 'link-drop', 'first-start', 'noisy-line'] as const)(
  'given a session of the scenario %s',
  (scenario) => {
    const entries = recorded(scenario);

    test('when a fold goes on from what another remembered, then all that follows is the same to the bit', () => {
      const all = new Witness();
      const whole = new Pipeline(lapwing120, all.observer);
      /** Where the fold was written down: after so many entries, with so many lines so far. */
      const places: { after: number; lines: number; saved: SavedFold; past: JournalEvent[]; stood: string }[] = [];
      const past: JournalEvent[] = [];
      entries.forEach((entry, i) => {
        all.ord = entry.ord;
        entry.feed(whole);
        past.push(...(entry.event === undefined ? [] : [entry.event]), ...all.said.splice(0));
        if (i % 1531 !== 7) return;
        const saved = whole.save();
        places.push({ after: i + 1, lines: all.lines.length, saved, past: [...past], stood: standing(whole) });
      });
      expect(places.length).toBeGreaterThan(8);
      for (const { after, lines, saved, past: before, stood } of places) {
        const rest = new Witness();
        const fold = Pipeline.restored(lapwing120, saved, before, rest.observer);
        if (fold === null) throw new Error(`what was saved after ${after} entries does not fit`);
        expect(standing(fold)).toBe(stood);
        for (const entry of entries.slice(after)) {
          rest.ord = entry.ord;
          entry.feed(fold);
        }
        const expected = all.lines.slice(lines);
        const first = rest.lines.findIndex((line, i) => line !== expected[i]);
        expect({ after, first, line: rest.lines[first] }).toEqual({ after, first: -1, line: undefined });
        expect(rest.lines.length).toBe(expected.length);
        expect(standing(fold)).toBe(standing(whole));
      }
    });
  },
);

const PARTS =
  'table fold link values inputs window derived facts flood runs ticks proofs advisories alarms judge'.split(' ');
const SIZES = { link: [4, 3, 0], facts: [13, 1, 1], runs: [5, 0, 3], ticks: [0, 2, 1] };

describe('given a fold that was written down', () => {
  const pipeline = new Pipeline(lapwing120);
  for (const entry of recorded('two-troubles')) entry.feed(pipeline);
  const saved = pipeline.save();

  test('when another version wrote it, then it is not gone on from', () => {
    expect(Pipeline.restored(lapwing120, { ...saved, version: FOLD_VERSION + 1 }, [])).toBeNull();
  });

  test('when the rig sheet has other rules, then it is not gone on from', () => {
    const other = { ...lapwing120, rules: lapwing120.rules.slice(1) };
    expect(Pipeline.restored(other, saved, [])).toBeNull();
  });

  // A copy of our own output: it only says that a part remembers more or less than it did. Then raise FOLD_VERSION.
  test('when the parts remember other things than in this version, then the version is to be raised', () => {
    const parts = saved.shape.split(' ').map((part) => part.split('@') as [string, string]);
    const sizes = parts.slice(0, -1).map(([name, from], i) => {
      const next = parts[i + 1]![1].split(',').map(Number);
      return [name, from.split(',').map((each, k) => next[k]! - Number(each))] as const;
    });
    expect(FOLD_VERSION).toBe(2);
    expect(sizes.map(([name]) => name)).toEqual(PARTS);
    // Of those that do not grow with the bench or the rig sheet: numbers, flags, data.
    expect(Object.fromEntries(sizes.filter(([name]) => name in SIZES))).toEqual(SIZES);
  });
});
