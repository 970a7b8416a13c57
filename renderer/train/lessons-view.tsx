/** Choice of a lesson and its mode, the brief before it, how it is scored, and the start. */
import { type ReactNode, useEffect, useState } from 'react';
import type { LessonInfo } from '../../shared-core/bridge/contract.ts';
import { type LessonMode, lessonModes } from '../../shared-core/training/lesson.ts';
import { BY_LOT } from '../../shared-core/training/lesson-book.ts';
import { ask, useConnection } from '../app/bridge-client.ts';
import { useSettings } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Field } from '../ui/field.tsx';
import { Progress } from '../ui/progress.tsx';
import { Section } from '../ui/section.tsx';
import { Segments } from '../ui/segments.tsx';
import { LeaveQuestion, useLeaveFirst } from './leave-question.tsx';
import { modeTitles, modeWords, unbroken } from './training-words.ts';

const byLot: LessonInfo = {
  id: BY_LOT,
  title: 'Drawn by lot',
  summary: 'One of the lessons, as an assessment. Nobody at the desk knows which.',
  brief: [
    'One of the lessons is drawn. You take what comes as you would at a stand: watch, notice, act in order, and leave the stand safe. It is over when it has come to its end; “End” in the strip ends it early.',
    'What can be asked of the person at the stand shows in the strip once it has begun.',
  ],
  minutes: 8,
  modes: ['assessment'],
  pass: 70,
  rules: [],
};

export function LessonsView() {
  const isOpen = useConnection((c) => c.state === 'open');
  const [lessons, setLessons] = useState<readonly LessonInfo[] | null>(null);
  const [chosen, setChosen] = useState<string | null>(null);
  useEffect(() => {
    if (!isOpen) return;
    let isCurrent = true;
    void ask('train.lessons', {}).then((found) => {
      if (isCurrent && found) setLessons([...found.lessons, byLot]);
    });
    return () => {
      isCurrent = false;
    };
  }, [isOpen]);
  if (lessons === null) return <Progress label="Reading the lessons" value={null} />;
  const lesson = lessons.find((each) => each.id === chosen) ?? lessons[0];
  if (lesson === undefined) return null;
  return (
    <div className="train">
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a column that scrolls must be reachable by keyboard. */}
      <section className="train-left" aria-label="Choice of lesson" tabIndex={0}>
        <UnderWay />
        <Section title="Lesson" data-testid="lessons">
          <ul className="scenarios">
            {lessons.map((each) => (
              <li key={each.id}>
                <label data-chosen={each.id === lesson.id}>
                  <input
                    type="radio"
                    name="lesson"
                    value={each.id}
                    checked={each.id === lesson.id}
                    onChange={() => setChosen(each.id)}
                    data-testid={`lesson-${each.id}`}
                  />
                  <span>
                    <b>{each.title}</b>
                    <span className="muted lesson-minutes">about {each.minutes} min</span>
                    <span className="muted below">{each.summary}</span>
                  </span>
                </label>
              </li>
            ))}
          </ul>
        </Section>
      </section>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: as above. */}
      <section className="train-right" aria-label="Brief" tabIndex={0}>
        <Brief key={lesson.id} lesson={lesson} />
      </section>
    </div>
  );
}

function UnderWay(): ReactNode {
  const title = useStream('live', (s) => (s.snapshot?.training?.ended === null ? s.snapshot.training.title : null));
  if (title === null) return null;
  return (
    <p className="under-way" data-testid="lesson-under-way">
      <span>
        <b>{title}</b> is under way.
      </span>
      <Button small onClick={() => goTo('run')}>
        Go to Run
      </Button>
    </p>
  );
}

function Brief({ lesson }: { readonly lesson: LessonInfo }) {
  const by = useSettings((s) => s.by);
  const [mode, setMode] = useState<LessonMode>(lesson.modes[0] ?? 'guided');
  const [trainee, setTrainee] = useState(by);
  const [word, setWord] = useState('');
  const [isBusy, setBusy] = useState(false);
  const leave = useLeaveFirst();
  const start = async (): Promise<void> => {
    setBusy(true);
    const started = await ask('train.start', {
      lesson: lesson.id,
      mode,
      trainee: trainee.trim(),
      ...(mode === 'assessment' && word !== '' ? { word } : {}),
    });
    setWord('');
    setBusy(false);
    if (started !== null) goTo('run');
  };
  return (
    <form
      onSubmit={(e) => {
        e.preventDefault();
        if (trainee.trim() !== '') leave.first(() => void start());
      }}
    >
      <Section title={lesson.title} data-testid="lesson-brief">
        <div className="brief">
          {lesson.brief.map((paragraph) => (
            <p key={paragraph}>{paragraph}</p>
          ))}
        </div>
      </Section>
      <Section title="Mode" lead={modeWords[mode]}>
        <Segments
          label="Mode of the lesson"
          options={lessonModes
            .filter((each) => lesson.modes.includes(each))
            .map((value) => ({ value, text: modeTitles[value] }))}
          value={mode}
          onChoose={setMode}
          testId="mode"
        />
        {mode === 'assessment' && <InstructorsWord word={word} onChange={setWord} />}
      </Section>
      {lesson.rules.length > 0 && (
        <Section title="How it is scored" lead={`Of 100 points, ${lesson.pass} are needed.`}>
          <ul className="rule-list" data-testid="lesson-rules">
            {lesson.rules.map((rule) => (
              <li key={rule.words}>
                <b>{rule.kind === 'gained' ? `+${rule.points}` : `\u2212${rule.points}`}</b>{' '}
                <span>{unbroken(rule.words)}</span>
              </li>
            ))}
          </ul>
        </Section>
      )}
      <div className="start-foot">
        <div className="start-row">
          <div className="trainee">
            <Field label="Trainee" {...(trainee.trim() === '' ? { error: 'A name or a role, for the record.' } : {})}>
              {(ids) => (
                <input
                  {...ids}
                  className="input"
                  value={trainee}
                  maxLength={60}
                  onChange={(e) => setTrainee(e.target.value)}
                  data-testid="trainee"
                />
              )}
            </Field>
          </div>
          <Button type="submit" tone="solid" disabled={isBusy || trainee.trim() === ''} data-testid="start-lesson">
            Start the lesson
          </Button>
        </div>
        <p className="muted">It begins a new session in Run, at real speed, recorded from its first moment.</p>
      </div>
      <LeaveQuestion leave={leave} />
    </form>
  );
}

function InstructorsWord({ word, onChange }: { readonly word: string; readonly onChange: (word: string) => void }) {
  return (
    <div className="instructors-word">
      <Field
        label="Instructor's word, if any"
        hint="Asked for before the instructor's panel opens on any page. It keeps an honest trainee from looking; it is no security. Without a word the panel opens after a question. The record tells each time."
      >
        {(ids) => (
          <input
            {...ids}
            className="input"
            type="password"
            autoComplete="off"
            value={word}
            maxLength={60}
            onChange={(e) => onChange(e.target.value)}
            data-testid="instructors-word"
          />
        )}
      </Field>
    </div>
  );
}
