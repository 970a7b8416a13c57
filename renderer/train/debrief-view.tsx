/** The debrief of a session: result, rules with what each brought, what was to be seen and done, the course. */
import { useEffect, useState } from 'react';
import type { BridgeError } from '../../shared-core/bridge/contract.ts';
import type { Debrief } from '../../shared-core/training/debrief.ts';
import { request, useConnection } from '../app/bridge-client.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { formatClock, formatNumber } from '../ui/format.ts';
import { Progress } from '../ui/progress.tsx';
import { Section } from '../ui/section.tsx';
import { DebriefCourse } from './debrief-course.tsx';
import { DebriefRules } from './debrief-rules.tsx';
import { endedWords, modeTitles, unbroken } from './training-words.ts';

export function DebriefView({ session }: { readonly session: string }) {
  const isOpen = useConnection((c) => c.state === 'open');
  const [debrief, setDebrief] = useState<Debrief | null>(null);
  const [error, setError] = useState<BridgeError | null>(null);
  useEffect(() => {
    if (!isOpen) return;
    let isCurrent = true;
    void request('train.debrief', { sessionId: session }).then((result) => {
      if (!isCurrent) return;
      if (result.ok) setDebrief(result.value);
      else setError(result.error);
    });
    return () => {
      isCurrent = false;
    };
  }, [isOpen, session]);
  if (error !== null) {
    return (
      <Empty title={error.sentence} action={<Button onClick={() => goTo('train', 'records')}>To the records</Button>}>
        {error.remedy}
      </Empty>
    );
  }
  if (debrief === null) return <Progress label="Going through the recording" value={null} />;
  return <Whole debrief={debrief} session={session} />;
}

function Whole({ debrief, session }: { readonly debrief: Debrief; readonly session: string }) {
  const replay = (at_s: number | null): void => {
    if (at_s === null) goTo('review', session);
    else goTo('review', session, String(Math.max(0, Math.round(debrief.zero_us + at_s * 1e6 - 5e6))));
  };
  return (
    <div className="train debrief" data-testid="debrief" data-passed={debrief.isPassed}>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a column that scrolls must be reachable by keyboard. */}
      <section className="train-left" aria-label="Result" tabIndex={0}>
        <Section
          title={`Debrief: ${debrief.title}`}
          aside={
            <Button onClick={() => replay(null)} data-testid="replay-session">
              Replay this session
            </Button>
          }
        >
          <div className="debrief-result">
            <p className="debrief-score" data-testid="debrief-score">
              {formatNumber(debrief.score, 0)}
              <span className="unit"> of 100</span>
            </p>
            <div>
              <p className="debrief-verdict" data-testid="debrief-verdict">
                {unbroken(debrief.verdict)}
              </p>
              <p className="muted">{factsOf(debrief)}</p>
            </div>
          </div>
        </Section>
        <DebriefRules rules={debrief.rules} />
        <Section title="What to mend">
          <ul className="advice-list" data-testid="debrief-advice">
            {debrief.advice.map((each) => (
              <li key={each}>{each}</li>
            ))}
          </ul>
          <div className="debrief-next">
            <Button onClick={() => goTo('train')} data-testid="debrief-next">
              Choose the next lesson
            </Button>
          </div>
        </Section>
      </section>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: as above. */}
      <section className="train-right" aria-label="Course of the lesson" tabIndex={0}>
        <DebriefCourse debrief={debrief} onReplay={replay} />
      </section>
    </div>
  );
}

function panelWords({ panelOpened, panelRefused }: Debrief): string[] {
  const wrong = panelRefused === 0 ? '' : `, ${panelRefused} wrong ${panelRefused === 1 ? 'word' : 'words'}`;
  if (panelOpened === 0) return panelRefused === 0 ? [] : [`instructor's panel not opened${wrong}`];
  return [`instructor's panel opened ${panelOpened === 1 ? 'once' : `${panelOpened} times`}${wrong}`];
}

function speedWords({ fastestSpeed, slowestSpeed }: Debrief): string[] {
  const told = [
    ...(slowestSpeed < 1 ? [`as slow as ${slowestSpeed}×`] : []),
    ...(fastestSpeed > 1 ? [`as fast as ${fastestSpeed}×`] : []),
  ];
  return told.length === 0 ? [] : [`${told.join(' and ')}; all times are simulated ones`];
}

function factsOf(debrief: Debrief): string {
  return [
    debrief.trainee,
    modeTitles[debrief.mode],
    `${formatClock(debrief.duration_s)}, ${endedWords[debrief.ended]}`,
    ...(debrief.takenVersion === debrief.lessonVersion
      ? []
      : [`taken as version ${debrief.takenVersion} of the lesson, debriefed by version ${debrief.lessonVersion}`]),
    ...speedWords(debrief),
    ...(debrief.pauses > 0 ? [`${debrief.pauses} ${debrief.pauses === 1 ? 'pause' : 'pauses'}`] : []),
    ...panelWords(debrief),
    ...(debrief.rewinds > 0 ? ['rewound: no first attempt'] : []),
  ].join(' · ');
}
