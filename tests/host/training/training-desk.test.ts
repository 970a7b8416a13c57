/** The desk: lessons begun and ended, the instructor's hand, going back, what an assessment hides, records. */
import { appendFileSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { addRecord, RECORD_FILE, readRecords } from '../../../electron/host/training/record-file.ts';
import type { TrainingRecord } from '../../../shared-core/training/record.ts';
import { recordsCsv } from '../../../shared-core/training/record.ts';
import { DeskRig, followTheStrip } from '../../training/desk-rig.ts';

let rig: DeskRig;
beforeEach(() => {
  rig = new DeskRig();
});
afterEach(() => rig.close());

const guided = { mode: 'guided', trainee: 'trainee 1' } as const;

function eventsOf(session: string) {
  rig.acquisition.commit();
  const loaded = rig.store.load(session);
  if (!loaded.ok) throw new Error('expected the session to load');
  return loaded.value.events.flatMap((each) =>
    each.side === 'in' && each.body.kind === 'training' ? [each.body.event] : [],
  );
}

describe('given a lesson under way', () => {
  test('when it is asked for what there is not, then it is refused in words', async () => {
    for (const params of [
      { lesson: 'no-such', ...guided },
      { lesson: 'by-lot', ...guided },
    ]) {
      const refused = await rig.ask('train.start', params);
      expect(refused.ok).toBe(false);
    }
    expect((await rig.ask('train.stop', { by: 'trainee 1' })).ok).toBe(false);
    expect((await rig.ask('sim.pause', {})).ok).toBe(false);
  });

  test('when another lesson is started, then the first one is ended, with its record', async () => {
    const first = await rig.get('train.start', { lesson: 'overspeed', ...guided });
    rig.pass(5);
    await rig.get('train.start', { lesson: 'sensor-lost', ...guided });
    const { records } = await rig.get('train.records', {});
    expect(records).toMatchObject([{ session: first.session, lesson: 'overspeed', ended: 'stopped', isPassed: false }]);
    const listed = rig.store.list();
    expect(listed.ok && listed.value.find((each) => each.id === first.session)?.isKept).toBe(true);
  });

  test('when it is ended early and put aside, then one record is written, and nothing is shown any more', async () => {
    await rig.get('train.start', { lesson: 'overspeed', ...guided });
    rig.pass(5);
    await rig.get('train.stop', { by: 'trainee 1' });
    rig.pass(5);
    expect(rig.view.ended).toMatchObject({ why: 'stopped' });
    await rig.get('train.stop', { by: 'trainee 1' });
    expect(rig.snapshot.training).toBeNull();
    expect((await rig.get('train.records', {})).records).toHaveLength(1);
  });

  test('when the instructor puts a fault in with its options, then it comes on so, and the journal names both', async () => {
    const { session } = await rig.get('train.start', { lesson: 'overspeed', ...guided });
    await rig.get('sim.fault', {
      fault: 'cooling-blocked',
      on: true,
      options: { severity: 0.5, ramp_s: 0 },
      by: 'instructor 1',
    });
    rig.pass(0.1);
    expect((await rig.get('train.instructor', {})).faults).toEqual([{ id: 'cooling-blocked', level: 0.5 }]);
    expect(eventsOf(session)).toContainEqual(
      expect.objectContaining({
        what: 'fault',
        fault: 'cooling-blocked',
        options: { severity: 0.5, ramp_s: 0 },
        by: 'instructor 1',
      }),
    );
    const strange = await rig.ask('sim.fault', { fault: 'cooling-blocked', on: true, options: { colour: 1 } });
    expect(strange.ok ? '' : strange.error.remedy).toContain('severity');
  });

  test('when the stop circuit is opened by hand, then the bench says so', async () => {
    await rig.get('train.start', { lesson: 'overspeed', ...guided });
    rig.pass(1);
    await rig.get('sim.act', { by: 'trainee 1', action: { kind: 'stop-circuit', closed: false } });
    rig.until(() => rig.input('stop') === 0, 1);
    rig.until(() => rig.value('rpm') < 100, 20);
  });
});

describe('given an assessment', () => {
  test('when a fault is in, then pages see neither it nor the lesson, and the instructor does', async () => {
    const { session } = await rig.get('train.start', {
      lesson: 'sensor-lost',
      mode: 'assessment',
      trainee: 'trainee 1',
      seed: 4,
    });
    rig.until(() => rig.source.bench.activeFaults.length > 0, 60);
    const shown = JSON.stringify({ ...rig.snapshot, alarms: [], source: rig.snapshot.source });
    expect(rig.snapshot.simulator).toMatchObject({ activeFaults: [], scenario: '', title: 'Assessment' });
    for (const word of ['sensor is lost', 'sensor-lost', 'half-throttle', 'cht-open'])
      expect(shown).not.toContain(word);
    await rig.get('train.seat', { by: 'instructor 1' });
    expect((await rig.get('train.instructor', {})).faults).toEqual([{ id: 'cht-open', level: 1 }]);
    expect(rig.desk.isBlind).toBe(true);
    expect((await rig.ask('train.debrief', { sessionId: session })).ok).toBe(false);
    await rig.get('train.stop', { by: 'trainee 1' });
    expect(rig.desk.isBlind).toBe(false);
    expect(rig.snapshot.simulator?.activeFaults).toEqual(['cht-open']);
    expect((await rig.get('train.debrief', { sessionId: session })).title).toBe('A sensor is lost');
  });

  test("when a page that has not opened the panel asks for what is the instructor's, then it is refused, and nothing is done", async () => {
    await rig.get('train.start', { lesson: 'overspeed', mode: 'assessment', trainee: 'trainee 1', seed: 4 });
    rig.pass(2);
    const asks = [
      rig.ask('train.instructor', {}),
      rig.ask('sim.fault', { fault: 'cht-open', on: true }),
      rig.ask('sim.speed', { speed: 0.2 }),
      rig.ask('sim.pause', {}),
      rig.ask('sim.resume', {}),
      rig.ask('sim.checkpoint', {}),
      rig.ask('sim.rewind', { checkpoint: 'c1' }),
      rig.ask('sim.act', { by: 'trainee 1', action: { kind: 'refuel' } }),
    ];
    for (const answer of await Promise.all(asks)) {
      expect(answer).toMatchObject({ ok: false, error: { kind: 'refused' } });
      expect(answer.ok ? '' : answer.error.sentence).toContain('assessment');
    }
    expect(rig.source).toMatchObject({ isPaused: false, speed: 1 });
    expect(rig.source.bench.activeFaults).toEqual([]);
    // What the lesson offers at the stand is the trainee's, and ending it, too.
    await rig.get('sim.act', { by: 'trainee 1', action: { kind: 'stop-circuit', closed: false } });
    await rig.get('train.stop', { by: 'trainee 1' });
    await rig.get('train.instructor', {});
  });

  test('when a word was chosen, then only that word opens the panel, only in that page, until the next lesson, and all of it is told', async () => {
    const started = { lesson: 'overspeed', mode: 'assessment', trainee: 'trainee 1', seed: 4 } as const;
    const { session } = await rig.get('train.start', { ...started, word: 'grey heron' });
    rig.pass(2);
    expect(rig.view.asksWord).toBe(true);
    expect((await rig.ask('train.seat', { by: 'trainee 1' })).ok).toBe(false);
    expect((await rig.ask('train.seat', { by: 'trainee 1', word: 'Grey heron' })).ok).toBe(false);
    const panel = {};
    expect((await rig.ask('train.seat', { by: 'instructor 1', word: 'grey heron' }, panel)).ok).toBe(true);
    expect((await rig.ask('train.instructor', {}, panel)).ok).toBe(true);
    expect((await rig.ask('train.instructor', {})).ok).toBe(false);

    // Going back goes on with it.
    const seen = await rig.ask('train.instructor', {}, panel);
    const checkpoint = seen.ok ? seen.value.checkpoints[0]!.id : '';
    expect((await rig.ask('sim.rewind', { checkpoint }, panel)).ok).toBe(true);
    expect((await rig.ask('sim.resume', {}, panel)).ok).toBe(true);
    expect((await rig.ask('sim.pause', {})).ok).toBe(false);
    await rig.get('train.stop', { by: 'trainee 1' });
    expect(JSON.stringify(eventsOf(session))).not.toContain('heron');
    expect(eventsOf(session).filter((each) => each.what === 'instructor')).toEqual([
      { what: 'instructor', isOpened: false, withWord: true, by: 'trainee 1' },
      { what: 'instructor', isOpened: false, withWord: true, by: 'trainee 1' },
      { what: 'instructor', isOpened: true, withWord: true, by: 'instructor 1' },
    ]);

    await rig.get('train.start', started);
    expect(rig.view.asksWord).toBe(false);
    expect((await rig.ask('train.instructor', {}, panel)).ok).toBe(false);
    await rig.get('train.seat', { by: 'trainee 1' });
    await rig.get('train.stop', { by: 'trainee 1' });
    const { records } = await rig.get('train.records', {});
    expect(records[0]).toMatchObject({ panelOpened: 1, panelRefused: 0 });
    const debrief = await rig.get('train.debrief', { sessionId: records[0]!.session });
    expect(debrief.timeline.map((each) => each.words)).toContain("Instructor's panel opened");
  });

  test('when a lesson in another mode is started with a word, then it is refused', async () => {
    expect((await rig.ask('train.start', { lesson: 'overspeed', ...guided, word: 'heron' })).ok).toBe(false);
  });

  test('when it is drawn by lot, then seeds lead to more than one lesson', async () => {
    const drawn = new Set<string>();
    for (const seed of [1, 2, 3, 4, 5, 6, 7, 8]) {
      const { session } = await rig.get('train.start', { lesson: 'by-lot', mode: 'assessment', trainee: 't', seed });
      await rig.get('train.stop', { by: 't' });
      drawn.add((await rig.get('train.debrief', { sessionId: session })).lesson);
    }
    expect(drawn.size).toBeGreaterThan(2);
  });
});

describe('given a checkpoint in a running lesson', () => {
  test('when it is gone back to, then the stand goes on bit for bit as it did, the outputs are held, and the journal says so', async () => {
    const { session } = await rig.get('train.start', { lesson: 'first-lesson', ...guided });
    rig.acquisition.outputs.setLive(true, 'by trainee 1');
    rig.pass(1);
    for (const name of ['SUPPLY', 'SERVO', 'FAN', 'IGNITION'] as const) {
      rig.acquisition.outputs.command('trainee 1', { name, on: true });
    }
    await rig.get('sim.act', { by: 'trainee 1', action: { kind: 'prime' } });
    rig.acquisition.operator('trainee 1', { kind: 'checklist-override', reason: 'in a hurry' });
    for (let i = 0; i < 20; i++) {
      rig.acquisition.outputs.holdStarter('trainee 1', true);
      rig.pass(0.1);
    }
    rig.acquisition.outputs.holdStarter('trainee 1', false);
    rig.pass(10);
    expect(rig.acquisition.pipeline.run.state).toBe('running');
    const { id } = await rig.get('sim.checkpoint', { name: 'idles' });
    const at_s = rig.source.bench.time_s;
    const { goals } = rig.view;
    rig.pass(20);
    const before = rig.source.bench.truth;

    const back = await rig.get('sim.rewind', { checkpoint: id });
    expect(rig.source.bench.time_s).toBe(at_s);
    expect(rig.source.isPaused).toBe(true);
    expect(rig.acquisition.outputs.isLive).toBe(true);
    await rig.get('sim.resume', {});
    rig.pass(20);
    // The same seed and the same calls; since then nobody has done anything in either.
    expect(rig.source.bench.truth).toEqual(before);
    expect(rig.acquisition.pipeline.run.state).toBe('running');
    expect(rig.view).toMatchObject({ isRewound: true, goals });

    expect(back.session).not.toBe(session);
    expect(eventsOf(back.session).slice(0, 3)).toMatchObject([
      { what: 'rewound', from: session, to_s: at_s },
      { what: 'paused' },
      { what: 'lesson-resumed', head: { lesson: 'first-lesson' } },
    ]);
    await followTheStrip(rig);
    expect(rig.view.ended).toMatchObject({ why: 'complete', isPassed: true });
    const { records } = await rig.get('train.records', {});
    expect(records).toMatchObject([{ session: back.session, rewinds: 1 }]);
    const live = await rig.get('train.debrief', { sessionId: back.session });
    await rig.acquisition.close();
    rig.now = null;
    expect(await rig.get('train.debrief', { sessionId: back.session })).toEqual(live);
    // What came before the rewind ended there.
    expect((await rig.get('train.debrief', { sessionId: session })).ended).toBe('stopped');
  });

  test('when a lesson begins anew, then checkpoints of the one before are gone', async () => {
    await rig.get('train.start', { lesson: 'overspeed', ...guided });
    const { id } = await rig.get('sim.checkpoint', {});
    await rig.get('train.start', { lesson: 'overspeed', ...guided });
    expect((await rig.get('train.instructor', {})).checkpoints.map((each) => each.name)).toEqual([
      'Begin of the lesson',
    ]);
    expect((await rig.ask('sim.rewind', { checkpoint: id })).ok).toBe(false);
  });
});

describe('given the file of records', () => {
  const record: TrainingRecord = {
    ...{ format: 1, session: 's1', trainee: 'trainee 1', lesson: 'overspeed', lessonVersion: 1, title: 'Overspeed' },
    ...{ mode: 'guided', seed: 1, at_epochMs: 1_795_000_000_000, duration_s: 61, ended: 'complete', score: 90 },
    ...{ pass: 70, isPassed: true, verdict: 'Passed: 90 of 100, 70 are needed.', rewinds: 0, fastestSpeed: 1 },
  };

  test('when there is none, then there are no records, and that is no error', () => {
    expect(readRecords(rig.folder)).toEqual({ ok: true, value: { records: [], unreadable: 0 } });
  });

  test('when a line was broken off by a crash, then it is counted, kept, and the next one is whole', () => {
    expect(addRecord(rig.folder, record).ok).toBe(true);
    appendFileSync(join(rig.folder, RECORD_FILE), '{"format":1,"session":"s2","tra');
    expect(addRecord(rig.folder, { ...record, session: 's3' }).ok).toBe(true);
    const read = readRecords(rig.folder);
    expect(read).toMatchObject({ ok: true, value: { records: [{ session: 's3' }, { session: 's1' }], unreadable: 1 } });
    expect(readFileSync(join(rig.folder, RECORD_FILE), 'utf8')).toContain('{"format":1,"session":"s2","tra\n');
  });

  test('when a line is of another make, then it is not taken for a record', () => {
    writeFileSync(join(rig.folder, RECORD_FILE), '{"format":2}\nnull\n[]\n{"format":1,"score":"90"}\n');
    expect(readRecords(rig.folder)).toMatchObject({ value: { records: [], unreadable: 4 } });
  });

  test('when the folder cannot be written, then it is an error in words, not a throw', () => {
    const refused = addRecord(join(rig.folder, 'no-such-folder'), record);
    expect(refused.ok ? '' : refused.error.kind).toBe('disk');
  });

  test('when they are written as CSV, then text is quoted, formulas are disarmed, and all is said to be simulated', () => {
    const csv = recordsCsv([{ ...record, trainee: '=HYPERLINK("x")', title: 'A, "B"' }], (epochMs) =>
      new Date(epochMs).toISOString(),
    );
    const [head, row] = csv.split('\r\n');
    expect(head?.split(',')).toHaveLength(18);
    expect(row).toContain(`"'=HYPERLINK(""x"")","A, ""B""",guided,90,70,yes`);
    expect(row).toMatch(/SIMULATED$/);
  });

  test('when they are exported, then the file holds them', async () => {
    addRecord(rig.folder, record);
    const file = await rig.get('train.export', {});
    expect(readFileSync(file.path, 'utf8')).toContain('trainee 1,Overspeed,guided,90');
  });
});
