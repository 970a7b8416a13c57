/** The evaluation on journals made by hand: every number here was put in by the test. */
import { describe, expect, test } from 'vitest';
import type { JournalInput, JournalSink } from '../../shared-core/journal.ts';
import type { BenchCommand } from '../../shared-core/line/messages.ts';
import { Pipeline } from '../../shared-core/pipeline.ts';
import { type Debrief, debriefOf, makeDebrief } from '../../shared-core/training/debrief.ts';
import type { Lesson, LessonMode } from '../../shared-core/training/lesson.ts';
import { lessonById } from '../../shared-core/training/lesson-book.ts';
import { LessonFold } from '../../shared-core/training/lesson-fold.ts';
import { copyOfState, newLessonState } from '../../shared-core/training/lesson-state.ts';
import { seededShare } from '../../shared-core/training/seeded-share.ts';
import { trainingView } from '../../shared-core/training/training-view.ts';
import { rule, Stand, smallRig } from '../pipeline-support.ts';

const rig = smallRig(
  [
    rule.threshold('head', { channel: 'cht1', level: 'caution', trip: 190, reset: 185, onDelay_ms: 0 }),
    rule.threshold('head-abort', { channel: 'cht1', level: 'abort', trip: 220, reset: 205, onDelay_ms: 0 }),
  ],
  {
    checklists: [
      {
        stage: 'before-start',
        title: 'Before the start',
        items: [
          { id: 'cage', text: 'Cage closed', why: '' },
          { id: 'plane', text: 'Nobody in the plane', why: '' },
        ],
      },
    ],
  },
);

const closed = { act: 'command', name: 'THROTTLE', atMost_percent: 2 } as const;
const off = { act: 'command', name: 'IGNITION', on: false } as const;

const lesson: Lesson = {
  id: 'by-hand',
  version: 1,
  title: 'By hand',
  summary: '',
  brief: [],
  task: 'Answer what comes.',
  minutes: 1,
  scenario: 'standing',
  seed: 1,
  modes: ['guided', 'practice', 'assessment'],
  goals: [{ id: 'runs', words: 'It runs', reached: { is: 'run-state', states: ['running'] }, hold_s: 2 }],
  steps: [
    {
      id: 'crank',
      says: 'Crank.',
      why: '',
      control: 'starter-hold',
      done: { is: 'run-state', states: ['running'] },
      hint: { after_s: 5, says: 'Hold it.' },
    },
    { id: 'close', says: 'Close.', why: '', done: { is: 'done', what: closed }, hint: { after_s: 5, says: 'Now.' } },
  ],
  events: [
    {
      id: 'hot',
      when: { is: 'run-state', states: ['running'] },
      after_s: [3, 3],
      does: { fault: 'fan-off', on: true },
    },
  ],
  expectations: [
    {
      id: 'heat',
      title: 'The head is hot',
      sees: 'CHT 1',
      rightAct: 'Throttle',
      event: 'hot',
      shows: { is: 'alarm', rules: ['head'] },
      notice: [{ act: 'acknowledge', rules: ['head'] }],
      act: [closed],
      hint: { after_s: 4, says: 'Heat.' },
    },
  ],
  orders: [
    {
      id: 'down',
      title: 'Down',
      after: 'hot',
      acts: [
        { words: 'Throttle', what: closed },
        { words: 'Ignition', what: off },
      ],
    },
  ],
  rules: [
    { id: 'list', kind: 'checklist', words: '', points: 10, stages: ['before-start'], perItem: 4 },
    { id: 'runs', kind: 'goal', goal: 'runs', words: '', points: 20 },
    { id: 'notice', kind: 'notice', expectation: 'heat', words: '', points: 20, full_s: 5, none_s: 15 },
    { id: 'act', kind: 'act', expectation: 'heat', words: '', points: 30, full_s: 10, none_s: 30 },
    { id: 'order', kind: 'order', order: 'down', words: '', points: 20, perSlip: 15 },
    { id: 'limits', kind: 'limits', words: '', points: 20, levels: ['abort'], free_s: 2, perSecond: 2 },
    { id: 'starter', kind: 'starter', words: '', points: 40, perAbuse: 20, fails: true },
    { id: 'cut', kind: 'hot-cut', words: '', points: 30, above_degC: 130, fails: true },
    { id: 'panic', kind: 'wrong-act', expectation: 'heat', what: off, words: '', points: 10, fails: false },
  ],
  pass: 70,
  end: { is: 'all', of: [{ is: 'has-run' }, { is: 'run-state', states: ['standing', 'cooling'] }] },
  endHold_s: 1,
  limit_s: 600,
  hands: [],
  advice: { act: 'Act sooner.', cut: 'Cool first.', starter: 'Eight seconds.' },
};

/** A pipeline of its own beside the stand's, with the lesson at it, as the host has them. */
class Follower implements JournalSink {
  readonly fold: LessonFold;
  readonly pipeline: Pipeline;

  constructor(mode: LessonMode) {
    this.fold = new LessonFold(lesson, { lesson: 'by-hand', version: 1, mode, trainee: 'trainee 1', seed: 1 }, rig, 0);
    this.pipeline = new Pipeline(rig, {
      onValues: () => {},
      onOutput: (t_us, output) => this.fold.output(t_us, output),
    });
  }
  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.pipeline.frame(ord, t_us, group, raw, columns);
    this.fold.look(t_us, this.pipeline);
  }
  tick(ord: number, t_us: number): void {
    this.pipeline.tick(ord, t_us);
    this.fold.look(t_us, this.pipeline);
  }
  event(ord: number, t_us: number, body: JournalInput): void {
    this.fold.input(t_us, body, this.pipeline);
    this.pipeline.event(ord, t_us, body);
    this.fold.look(t_us, this.pipeline);
  }
}

class Course {
  readonly follower: Follower;
  readonly stand: Stand;
  #id = 0;

  constructor(mode: LessonMode = 'practice') {
    this.follower = new Follower(mode);
    this.stand = new Stand(rig, {}, undefined, this.follower);
  }
  to(t_s: number, readings: Record<string, number> = {}): void {
    this.stand.runTo(t_s * 1e6, readings);
  }
  command(command: BenchCommand): string {
    const id = String(++this.#id).padStart(4, '0');
    this.stand.event({ kind: 'command', id, command, by: 'trainee 1' });
    return id;
  }
  throttle(percent: number): string {
    return this.command({ name: 'THROTTLE', permille: percent * 10 });
  }
  starter(on: boolean): void {
    this.command({ name: 'STARTER', on });
    this.stand.input('starter', on ? 1 : 0);
  }
  ignition(on: boolean): void {
    this.command({ name: 'IGNITION', on });
    this.stand.input('ignition', on ? 1 : 0);
  }
  tick(...items: string[]): void {
    for (const itemId of items) this.stand.operator({ kind: 'checklist', itemId, isDone: true });
  }
  /** Listed, cranked for 2 s from 1 s on, running at 2,000 rpm from 3 s on. */
  started(): void {
    this.to(0.5);
    this.tick('cage', 'plane');
    this.ignition(true);
    this.to(1);
    this.starter(true);
    this.to(3, { rpm: 2000 });
    this.starter(false);
  }
  debrief(): Debrief {
    return debriefOf(this.follower.fold);
  }
  points(ruleId: string): number | undefined {
    return this.debrief().rules.find((each) => each.id === ruleId)?.points;
  }
}

describe('given a course without a slip', () => {
  function clean(): Course {
    const course = new Course();
    course.started();
    course.to(10, { cht1: 180 });
    course.to(12, { cht1: 195 });
    course.stand.operator({ kind: 'acknowledge-all' });
    course.to(13);
    course.throttle(0);
    for (let t_s = 14, cht1 = 195; t_s <= 20; t_s++, cht1 -= 12) course.to(t_s, { cht1 });
    course.ignition(false);
    course.to(23, { rpm: 0 });
    return course;
  }

  test('when it is over, then all that can be gained is gained, nothing is lost, and it is passed', () => {
    const debrief = clean().debrief();
    expect(debrief.rules.map((each) => [each.id, each.points])).toEqual([
      ...[
        ['list', 10],
        ['runs', 20],
        ['notice', 20],
        ['act', 30],
        ['order', 20],
      ],
      ...[
        ['limits', 0],
        ['starter', 0],
        ['cut', 0],
        ['panic', 0],
      ],
    ]);
    expect(debrief).toMatchObject({ score: 100, isPassed: true, ended: 'complete' });
    expect(debrief.verdict).toBe('Passed: 100 of 100, 70 are needed.');
  });

  test('when its expectation is looked at, then due, shown, noticed and acted stand at their times', () => {
    const [heat] = clean().debrief().expectations;
    // Running is said 1 s after 1,100 rpm was passed at 1.01 s; the event comes 3 s later.
    expect(heat?.dueAt_s).toBeCloseTo(5.02, 1);
    expect(heat?.shownAt_s).toBeCloseTo(10.1, 1);
    expect(heat?.toNotice_s).toBeCloseTo(1.9, 1);
    expect(heat?.toAct_s).toBeCloseTo(2.9, 1);
    expect(heat?.noticedBy).toBe('Acknowledged head');
  });

  test('when the same journal is followed twice, then the debriefs are equal', () => {
    expect(clean().debrief()).toEqual(clean().debrief());
  });
});

describe('given an over-temperature that nobody answers in time', () => {
  test.each([
    { acted_s: 10, points: 30 },
    { acted_s: 20, points: 15 },
    { acted_s: 30, points: 0 },
    { acted_s: 45, points: 0 },
  ])(
    'when the throttle is closed $acted_s s after the alarm, then $points points come of it',
    ({ acted_s, points }) => {
      const course = new Course();
      course.started();
      course.to(10, { cht1: 180 });
      course.to(10.1, { cht1: 195 });
      course.to(10.1 + acted_s);
      course.throttle(0);
      expect(course.points('act')).toBe(points);
    },
  );

  test('when nothing at all is done, then it is said so', () => {
    const course = new Course();
    course.started();
    course.to(40, { cht1: 195 });
    expect(course.debrief().expectations[0]).toMatchObject({ noticedAt_s: null, actedAt_s: null, toAct_s: null });
    expect(course.debrief().rules.find((each) => each.id === 'act')?.because).toBe('Never acted on.');
  });

  test('when the throttle is closed on the trend, before any alarm, then it counts as at once', () => {
    const course = new Course();
    course.started();
    course.to(8, { cht1: 180 });
    course.throttle(0);
    expect(course.debrief().expectations[0]).toMatchObject({ shownAt_s: null, toAct_s: 0, toNotice_s: 0 });
    expect(course.points('act')).toBe(30);
  });

  test('when the command was refused by the bench, then it is no act', () => {
    const course = new Course();
    course.started();
    course.to(12, { cht1: 195 });
    const id = course.throttle(0);
    course.stand.event({ kind: 'answer', answer: { kind: 'refused', host: 'A1B2', id, reason: 'FAULT', words: [] } });
    expect(course.debrief().expectations[0]?.actedAt_s).toBeNull();
  });

  test('when a throttle was closed before anything went wrong, then that does not count', () => {
    const course = new Course();
    course.started();
    course.throttle(0);
    course.to(12, { cht1: 195 });
    expect(course.debrief().expectations[0]?.actedAt_s).toBeNull();
  });
});

describe('given a limit of 220', () => {
  test.each([
    { cht1: 220, over_s: null },
    { cht1: 220.1, over_s: 5 },
    { cht1: 231, over_s: 5 },
  ])('when the head is at $cht1 for 5 s, then $over_s s beyond it are counted', ({ cht1, over_s }) => {
    const course = new Course();
    course.started();
    course.to(10, { cht1: 180 });
    course.to(15, { cht1 });
    course.to(16, { cht1: 180 });
    const over = course.debrief().limits.find((each) => each.rule === 'head-abort');
    if (over_s === null) {
      expect(over).toBeUndefined();
      expect(course.points('limits')).toBe(0);
    } else {
      expect(over?.over_s).toBeCloseTo(over_s, 0);
      expect(over?.farthest).toBeCloseTo(cht1, 6);
      // Less 2 s that are free, 2 points each.
      expect(course.points('limits')).toBe(-6);
    }
  });

  test('when the sensor fails beyond it, then no distance is made up', () => {
    const course = new Course();
    course.started();
    course.stand.runTo(20e6, { cht1: 'open' });
    expect(course.debrief().limits).toEqual([]);
  });
});

describe('given the starter', () => {
  function cranked(for_s: number, heldFor_s = for_s): Course {
    const course = new Course();
    course.tick('cage', 'plane');
    course.to(1);
    course.command({ name: 'STARTER', on: true });
    course.stand.input('starter', 1);
    course.to(1 + for_s, { rpm: 400 });
    course.stand.input('starter', 0);
    course.to(1 + heldFor_s, { rpm: 0 });
    course.command({ name: 'STARTER', on: false });
    course.to(1 + heldFor_s + 4);
    return course;
  }

  test.each([
    { for_s: 7.8, abuses: 0 },
    { for_s: 8, abuses: 1 },
    { for_s: 12, abuses: 1 },
  ])('when one attempt lasts $for_s s, then $abuses abuse is counted', ({ for_s, abuses }) => {
    const course = cranked(for_s);
    expect(course.debrief().starter.abuses).toHaveLength(abuses);
    expect(course.debrief().rules.find((each) => each.id === 'starter')?.hasFailed).toBe(abuses > 0);
  });

  test('when the duty rule lets go at 8 s and the hand at 12 s, then both are told', () => {
    const { starter } = cranked(8, 12).debrief();
    expect(starter.attempts[0]?.cranked_s).toBeCloseTo(8, 1);
    expect(starter.attempts[0]?.held_s).toBeCloseTo(12, 1);
    expect(starter.abuses[0]?.words).toMatch(/held 12\.0 s; the duty rule let go, not you/);
  });

  test('when a page stutters and presses again by itself, then the hand has held it all the same', () => {
    const course = new Course();
    course.to(1);
    course.starter(true);
    course.to(4, { rpm: 400 });
    course.stand.input('starter', 0);
    course.to(4.6);
    course.starter(true);
    course.to(9.6);
    course.stand.input('starter', 0);
    course.to(13, { rpm: 0 });
    course.command({ name: 'STARTER', on: false });
    course.to(14);
    const { starter } = course.debrief();
    expect(starter.attempts).toHaveLength(1);
    expect(starter.attempts[0]?.held_s).toBeCloseTo(12, 1);
    expect(starter.abuses[0]?.words).toMatch(/held 12\.0 s; the duty rule let go, not you/);
  });

  test.each([
    { rest_s: 119, abuses: 1 },
    { rest_s: 121, abuses: 0 },
  ])('when it is engaged again after $rest_s s, then $abuses abuse is counted', ({ rest_s, abuses }) => {
    const course = cranked(3);
    course.to(4 + rest_s);
    course.starter(true);
    course.to(4 + rest_s + 1);
    course.starter(false);
    course.to(4 + rest_s + 2);
    expect(course.debrief().starter.abuses).toHaveLength(abuses);
  });

  test('when it is let go for a second and engaged again, then it is one attempt', () => {
    const course = cranked(3, 3);
    const again = new Course();
    again.to(1);
    again.starter(true);
    again.to(4);
    again.starter(false);
    again.to(5);
    again.starter(true);
    again.to(6);
    again.starter(false);
    again.to(10);
    expect(course.debrief().starter.attempts).toHaveLength(1);
    expect(again.debrief().starter.attempts).toHaveLength(1);
    expect(again.debrief().starter.attempts[0]?.cranked_s).toBeCloseTo(4, 1);
  });

  test('when it is held on for 5 s while the engine runs, then that is told', () => {
    const course = new Course();
    course.to(1);
    course.starter(true);
    course.to(7, { rpm: 2000 });
    course.starter(false);
    course.to(8);
    expect(course.debrief().starter.abuses.map((each) => each.words)).toEqual([
      'Held on while the engine already ran.',
    ]);
  });

  test('when it is asked for again before its rest is over and refused, then that is told', () => {
    const course = cranked(3);
    course.stand.event({
      kind: 'training',
      event: { what: 'starter-refused', restLeft_s: 100, by: 'trainee 1' },
    });
    expect(course.debrief().starter.abuses[0]?.words).toMatch(/refused/);
  });
});

describe('given a cut of the ignition with the engine running', () => {
  function cutAt(heads: readonly number[]): Course {
    const course = new Course();
    course.started();
    heads.forEach((cht1, i) => {
      course.to(6 + i, { cht1 });
    });
    course.ignition(false);
    course.to(6 + heads.length + 3, { rpm: 0 });
    return course;
  }

  test.each([
    { what: 'hot and steady', heads: [150, 150, 150, 150, 150, 150], isHot: true },
    { what: 'hot and rising', heads: [140, 142, 144, 146, 148, 150], isHot: true },
    { what: 'hot and falling', heads: [160, 158, 156, 154, 152, 150], isHot: false },
    { what: 'at 130 and steady', heads: [130, 130, 130, 130, 130, 130], isHot: false },
    { what: 'at 130.1 and steady', heads: [130.1, 130.1, 130.1, 130.1, 130.1, 130.1], isHot: true },
  ])('when the head is $what, then hot is $isHot', ({ heads, isHot }) => {
    const cut = cutAt(heads)
      .debrief()
      .rules.find((each) => each.id === 'cut');
    expect(cut?.hasFailed ?? false).toBe(isHot);
    expect(cut?.points).toBe(isHot ? -30 : 0);
  });

  test('when it is hot, then it is not passed, whatever the points, and the verdict says why', () => {
    const debrief = cutAt([150, 150, 150, 150, 150, 150]).debrief();
    expect(debrief.isPassed).toBe(false);
    expect(debrief.verdict).toMatch(/^Not passed: The ignition was cut hot: hottest head 150 °C and not falling/);
    expect(debrief.advice[0]).toBe('Cool first.');
  });
});

describe('given acts out of order, left out or wrong', () => {
  test('when the ignition goes before the throttle, then the throttle is no slip and the ignition is told too early', () => {
    const course = new Course();
    course.started();
    course.to(12, { cht1: 120 });
    course.ignition(false);
    course.to(13, { rpm: 0 });
    course.throttle(0);
    const [order] = course.debrief().orders;
    expect(order?.acts.map((each) => each.isSlip)).toEqual([false, true]);
  });

  test('when items of the list are open at the first crank, then each costs', () => {
    const course = new Course();
    course.to(0.5);
    course.tick('cage');
    course.to(1);
    course.starter(true);
    course.to(2);
    // Ticked when it already turns: too late.
    course.tick('plane');
    course.to(3);
    expect(course.debrief().openAtCrank).toEqual(['Nobody in the plane']);
    expect(course.points('list')).toBe(6);
  });

  test('when the ignition is cut though the throttle was asked for, then the wrong act costs', () => {
    const course = new Course();
    course.started();
    course.to(12, { cht1: 120 });
    course.ignition(false);
    course.to(12.5);
    expect(course.points('panic')).toBe(-10);
  });
});

describe('given the modes', () => {
  test('when it is guided, then steps are said one by one, and the hint after its time', () => {
    const course = new Course('guided');
    course.to(4);
    expect(trainingView(course.follower.fold, 's')).toMatchObject({
      says: 'Crank.',
      control: 'starter-hold',
      hint: null,
    });
    course.to(6);
    expect(trainingView(course.follower.fold, 's').hint).toBe('Hold it.');
    course.starter(true);
    course.to(9, { rpm: 2000 });
    expect(trainingView(course.follower.fold, 's')).toMatchObject({ says: 'Close.', step: { number: 2, of: 2 } });
    course.throttle(0);
    course.to(10);
    expect(course.debrief()).toMatchObject({ ended: 'complete' });
  });

  test('when it is practice, then no steps are said, and a hint comes when nobody acts', () => {
    const course = new Course('practice');
    course.started();
    course.to(12, { cht1: 195 });
    const view = trainingView(course.follower.fold, 's');
    expect(view).toMatchObject({ step: null, says: 'Answer what comes.' });
    expect(view.goals.length).toBeGreaterThan(0);
    course.to(20);
    expect(trainingView(course.follower.fold, 's').hint).toBe('Heat.');
  });

  test('when it is an assessment, then neither name, step, hint nor goal is told before the end', () => {
    const course = new Course('assessment');
    course.started();
    course.to(40, { cht1: 195 });
    const view = trainingView(course.follower.fold, 's');
    expect(view).toMatchObject({ lesson: '', title: 'Assessment', step: null, hint: null, control: null });
    expect(view.goals).toEqual([]);
    expect(JSON.stringify(view)).not.toContain('By hand');
    course.stand.event({ kind: 'training', event: { what: 'lesson-stopped', by: 'trainee 1' } });
    expect(trainingView(course.follower.fold, 's')).toMatchObject({ title: 'By hand', ended: { why: 'stopped' } });
  });

  test('when its time runs out, then it is over and not passed', () => {
    const course = new Course();
    course.to(601);
    expect(course.debrief()).toMatchObject({ ended: 'time', isPassed: false, duration_s: 600 });
    expect(course.debrief().verdict).toBe('Not passed: the time ran out.');
  });
});

test('given a lesson that was taken in an older version, when its debrief is made again, then it names both versions', () => {
  const lesson = lessonById('first-lesson')!;
  const head = { lesson: lesson.id, version: 1, mode: 'guided', trainee: 'trainee 1', seed: 1 } as const;
  const debrief = makeDebrief(lesson, head, newLessonState(lesson.steps.length), 0);
  expect(debrief).toMatchObject({ takenVersion: 1, lessonVersion: lesson.version });
  expect(lesson.version).toBeGreaterThan(1);
});

describe('given a lesson that goes on from a kept state', () => {
  test('when it goes on at another session time, then what was done stays, and its clock goes on', () => {
    const course = new Course();
    course.started();
    course.to(6);
    const kept = copyOfState(course.follower.fold.state);
    const head = course.follower.fold.head;
    const resumed = new LessonFold(lesson, head, rig, 2_000_000, kept);
    expect(resumed.state.rewinds).toBe(1);
    expect(resumed.zero_us).toBeCloseTo(2_000_000 - 6_000_000, -5);
    expect(resumed.state.goals_s).toEqual(kept.goals_s);
    expect(debriefOf(resumed)).toMatchObject({ rewinds: 1, ended: 'open' });
    expect(JSON.parse(JSON.stringify(kept))).toEqual(kept);
  });
});

test('given seeds, when shares are drawn, then they lie in [0, 1), differ by seed and name, and are the same again', () => {
  const shares = Array.from({ length: 200 }, (_, seed) => seededShare(seed, 'air'));
  expect(Math.min(...shares)).toBeGreaterThanOrEqual(0);
  expect(Math.max(...shares)).toBeLessThan(1);
  expect(new Set(shares).size).toBe(200);
  // A fair spread: of 200, each quarter has its 50 within four standard deviations (±24.5).
  for (let quarter = 0; quarter < 4; quarter++) {
    const count = shares.filter((share) => Math.floor(4 * share) === quarter).length;
    expect(Math.abs(count - 50)).toBeLessThan(25);
  }
  expect(seededShare(7, 'air')).toBe(seededShare(7, 'air'));
  expect(seededShare(7, 'air')).not.toBe(seededShare(7, 'gone'));
});
