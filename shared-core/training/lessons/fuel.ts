/** Air in the fuel line, then no fuel at all: the first is a warning of the second. */
import type { Lesson } from '../lesson.ts';
import { abortLimitsRule, atIdle, atRest, commonAdvice, hotCutRule, ignitionOff, throttleClosed } from './common.ts';

const early = ['fuel-disagree'] as const;

export const fuelLesson: Lesson = {
  id: 'fuel',
  version: 1,
  title: 'Air in the fuel line',
  summary: 'A quiet caution is all the notice that the engine gives before it leans out.',
  brief: [
    'The engine runs at full throttle, warm and steady, worked by a person at the stand.',
    'Fuel is measured twice: by a meter and by the weight that a totaliser counts. When the two part, something is in the line that is not fuel. A two-stroke that leans out under power is an engine without oil.',
  ],
  task: 'Watch the run at full throttle, and answer what comes.',
  minutes: 5,
  scenario: 'full-throttle',
  seed: 51,
  modes: ['guided', 'practice', 'assessment'],
  goals: [
    {
      id: 'idle',
      words: 'The engine idles before the fuel is gone',
      reached: {
        is: 'all',
        of: [{ is: 'event', event: 'air' }, { is: 'not', of: { is: 'event', event: 'gone' } }, atIdle],
      },
      hold_s: 2,
    },
    {
      id: 'stopped',
      words: 'Stopped by you, not by the fuel',
      reached: {
        is: 'all',
        of: [
          { is: 'event', event: 'air' },
          { is: 'not', of: { is: 'event', event: 'gone' } },
          { is: 'input', input: 'ignition', state: 0 },
          atRest,
        ],
      },
    },
    {
      id: 'refilled',
      words: 'Tank filled and line bled, at rest',
      reached: { is: 'all', of: [{ is: 'done', what: { act: 'hand', kind: 'refuel' }, after: 'air' }, atRest] },
    },
  ],
  steps: [
    {
      id: 'watch',
      says: 'Watch fuel flow and exhausts.',
      why: 'Full throttle, all steady.',
      done: { is: 'alarm', rules: early },
      hint: { after_s: 90, says: 'The fuel flow has become restless. The caution needs some seconds to be sure.' },
    },
    {
      id: 'ack',
      says: 'Press “Ack all” in the list of alarms.',
      why: 'Meter and totaliser disagree: air is in the line, and more of it will come.',
      control: 'acknowledge-all',
      done: { is: 'done', what: { act: 'acknowledge', rules: early }, after: 'air' },
      hint: { after_s: 15, says: 'The key A does it from anywhere.' },
    },
    {
      id: 'idle',
      says: 'Press “Throttle closed”.',
      why: 'At idle it needs a tenth of the fuel, and a lean charge does no harm.',
      control: 'throttle-closed',
      done: { is: 'all', of: [{ is: 'event', event: 'air' }, atIdle] },
      hint: { after_s: 10, says: 'Shift+T does it from anywhere.' },
    },
    {
      id: 'cool',
      says: 'Hold idle until the hottest head is below 130 °C, then press “Ignition off”.',
      why: 'In good order, while there is still fuel.',
      control: 'ignition-off',
      done: atRest,
      hint: {
        after_s: 60,
        says: 'The cool-down strip counts the time. You can run the simulation faster here at the right.',
      },
    },
    {
      id: 'refuel',
      says: 'Press “Fill the tank” here at the right.',
      why: 'At rest, with the ignition off.',
      control: 'hand-refuel',
      done: { is: 'done', what: { act: 'hand', kind: 'refuel' }, after: 'air' },
      hint: { after_s: 20, says: 'In this strip: what you can ask of the person at the stand.' },
    },
  ],
  events: [
    {
      id: 'air',
      when: { is: 'run-state', states: ['running'] },
      after_s: [15, 35],
      does: { fault: 'fuel-bubbles', on: true },
    },
    {
      id: 'gone',
      when: {
        is: 'all',
        of: [
          { is: 'event', event: 'air', ago_s: 75 },
          { is: 'run-state', states: ['running'] },
          { is: 'channel', channel: 'throttle', above: 40 },
        ],
      },
      hold_s: 1,
      after_s: [5, 15],
      does: { fault: 'fuel-starvation', on: true },
    },
  ],
  expectations: [
    {
      id: 'air',
      title: 'Meter and totaliser part',
      sees: 'Fuel flow grows restless; the caution Fuel meter and totaliser disagree. Rpm and heads are as before.',
      rightAct: 'Acknowledge, bring the engine to idle, stop it in order, look for air in the line.',
      event: 'air',
      shows: { is: 'alarm', rules: early },
      notice: [{ act: 'acknowledge', rules: early }],
      act: [{ act: 'command', name: 'THROTTLE', atMost_percent: 15 }],
      hint: {
        after_s: 12,
        says: 'Two measures of one fuel differ. What is in the line, and what does full throttle do with it?',
      },
    },
  ],
  orders: [
    {
      id: 'answer',
      title: 'The answer, in order',
      after: 'air',
      acts: [
        { words: 'Throttle to idle', what: throttleClosed },
        { words: 'Ignition off', what: ignitionOff },
        { words: 'Tank filled', what: { act: 'hand', kind: 'refuel' } },
      ],
    },
  ],
  rules: [
    {
      id: 'notice',
      kind: 'notice',
      expectation: 'air',
      words: 'The caution noticed: 20 within 8 s, none after 45 s.',
      points: 20,
      full_s: 8,
      none_s: 45,
    },
    {
      id: 'act',
      kind: 'act',
      expectation: 'air',
      words: 'Throttle to idle: 30 within 20 s, none after 60 s.',
      points: 30,
      full_s: 20,
      none_s: 60,
    },
    {
      id: 'order',
      kind: 'order',
      order: 'answer',
      words: 'The answer in order: 15, less 5 for each act out of order or left out.',
      points: 15,
      perSlip: 5,
    },
    { id: 'stopped', kind: 'goal', goal: 'stopped', words: 'Stopped by you before the fuel was gone: 25.', points: 25 },
    { id: 'refilled', kind: 'goal', goal: 'refilled', words: 'Tank filled at rest: 10.', points: 10 },
    hotCutRule,
    abortLimitsRule,
  ],
  pass: 70,
  end: {
    is: 'all',
    of: [{ is: 'event', event: 'air' }, atRest, { is: 'done', what: { act: 'hand', kind: 'refuel' }, after: 'air' }],
  },
  endHold_s: 2,
  limit_s: 900,
  hands: [{ kind: 'refuel' }, { kind: 'stop-circuit', closed: false }],
  advice: {
    ...commonAdvice,
    notice: 'A caution about fuel is as grave as one about heat: it comes earlier, that is all.',
    act: 'Air in the line at full throttle ends in a lean piston: idle first, questions after.',
    order: 'Idle, cool, ignition off, then the tank.',
    stopped: 'An engine that stops by itself under power was lean before it stopped.',
    refilled: 'Fill and bleed at rest, and find where the air came in.',
  },
};
