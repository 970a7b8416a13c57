/** All saved versions: who changed what and when; two of them compared; an older one taken again. */
import { useEffect, useState } from 'react';
import type { RigVersionRow } from '../../shared-core/bridge/contract.ts';
import { compareSheets, type SheetDifference } from '../../shared-core/rig/compare-sheets.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { ask, request } from '../app/bridge-client.ts';
import { Button } from '../ui/button.tsx';
import { Confirm } from '../ui/confirm.tsx';
import { formatWallTime, NO_VALUE } from '../ui/format.ts';
import { Section } from '../ui/section.tsx';
import { Table } from '../ui/table.tsx';
import { asEditOf, saveSheet, useSavedSheet } from './sheet-store.ts';

interface Compared {
  readonly older: number;
  readonly newer: number;
  readonly differences: readonly SheetDifference[];
}

export function SheetVersions() {
  const { sheet, inForce } = useSavedSheet();
  const [rows, setRows] = useState<readonly RigVersionRow[]>([]);
  const [pair, setPair] = useState<readonly [number, number] | null>(null);
  const [compared, setCompared] = useState<Compared | null>(null);
  const [trouble, setTrouble] = useState('');
  const [again, setAgain] = useState<number | null>(null);
  const present = sheet?.version ?? 0;
  const rig = sheet?.id ?? '';
  // biome-ignore lint/correctness/useExhaustiveDependencies: another version or rig is a reason to look again.
  useEffect(() => {
    void ask('rig.versions', {}).then((answer) => setRows(answer?.versions ?? []));
    setCompared(null);
    setPair(null);
  }, [present, rig]);

  const older = pair?.[0] ?? rows.find((each) => each.version < present)?.version ?? present;
  const newer = pair?.[1] ?? present;
  const compare = async (): Promise<void> => {
    const [a, b] = await Promise.all([
      request('rig.version', { version: older }),
      request('rig.version', { version: newer }),
    ]);
    if (!a.ok || !b.ok) {
      const failed = !a.ok ? a : b;
      setTrouble(failed.ok ? '' : `${failed.error.sentence} ${failed.error.remedy}`);
      return;
    }
    setTrouble('');
    setCompared({ older, newer, differences: compareSheets(a.value, b.value) });
  };
  const takeAgain = async (version: number): Promise<void> => {
    const old = await ask('rig.version', { version });
    if (old === null || sheet === null) return;
    const error = await saveSheet(asEditOf(sheet, old as RigSheet), `Version ${version} taken again.`);
    setTrouble(error === null ? '' : `${error.sentence} ${error.remedy}`);
  };

  return (
    <Section
      title="Versions"
      lead="Every saved change is a version of its own. Sessions keep the one they ran with."
      data-testid="sheet-versions"
    >
      <Table
        caption="Versions of this rig, newest first"
        columns={[
          { key: 'version', title: 'Version', isNumber: true, cell: (row) => row.version },
          {
            key: 'at',
            title: 'Saved',
            cell: (row) => (row.at_epochMs === 0 ? NO_VALUE : formatWallTime(row.at_epochMs)),
          },
          { key: 'by', title: 'By', cell: (row) => row.by || NO_VALUE },
          {
            key: 'change',
            title: 'What was changed',
            cell: (row) => (row.trouble === '' ? row.change || 'as it came' : `Cannot be read: ${row.trouble}`),
          },
          {
            key: 'state',
            title: 'State',
            cell: (row) =>
              [row.version === inForce ? 'in force' : '', row.isCurrent ? 'saved last' : ''].filter(Boolean).join(', '),
          },
        ]}
        rows={rows}
        keyOf={(row) => String(row.version)}
        data-testid="version-table"
      />
      {rows.length > 1 && (
        <div className="compare-bar">
          <VersionChoice
            label="Compare version"
            rows={rows}
            value={older}
            onChoose={(v) => setPair([v, newer])}
            testId="compare-older"
          />
          <VersionChoice
            label="with version"
            rows={rows}
            value={newer}
            onChoose={(v) => setPair([older, v])}
            testId="compare-newer"
          />
          <Button small onClick={() => void compare()} data-testid="compare">
            Compare
          </Button>
          <Button
            small
            tone="quiet"
            disabled={older === present}
            onClick={() => setAgain(older)}
            data-testid="take-again"
          >
            Take version {older} again…
          </Button>
        </div>
      )}
      {trouble !== '' && (
        <p className="field-error" role="alert">
          {trouble}
        </p>
      )}
      {compared !== null && <Differences compared={compared} rows={rows} />}
      <Confirm
        title={`Take version ${again ?? ''} again?`}
        isOpen={again !== null}
        actText="Save it as the newest"
        onClose={() => setAgain(null)}
        onAct={() => again !== null && void takeAgain(again)}
      >
        <p>It is saved as a new version and takes effect with the next session. No version is lost.</p>
      </Confirm>
    </Section>
  );
}

function VersionChoice({
  label,
  rows,
  value,
  onChoose,
  testId,
}: {
  readonly label: string;
  readonly rows: readonly RigVersionRow[];
  readonly value: number;
  readonly onChoose: (version: number) => void;
  readonly testId: string;
}) {
  return (
    <label className="compare-choice">
      <span>{label}</span>
      <select className="select" value={value} onChange={(e) => onChoose(Number(e.target.value))} data-testid={testId}>
        {rows
          .filter((row) => row.trouble === '')
          .map((row) => (
            <option key={row.version} value={row.version}>
              {row.version}
            </option>
          ))}
      </select>
    </label>
  );
}

const kindWords = { added: 'new', removed: 'gone', changed: 'changed', moved: 'moved' } as const;

function Differences({ compared, rows }: { readonly compared: Compared; readonly rows: readonly RigVersionRow[] }) {
  const { older, newer, differences } = compared;
  const between = rows.filter(
    (row) => row.version > Math.min(older, newer) && row.version <= Math.max(older, newer) && row.by !== '',
  );
  return (
    <div className="differences" data-testid="differences">
      <h3>
        From version {older} to {newer}: {differences.length} {differences.length === 1 ? 'difference' : 'differences'}
      </h3>
      {between.length > 0 && (
        <p className="muted">
          {between
            .map((row) => `${row.version} by ${row.by}, ${formatWallTime(row.at_epochMs)}`)
            .reverse()
            .join('; ')}
        </p>
      )}
      {differences.length > 0 && (
        <Table
          caption="Differences"
          columns={[
            { key: 'kind', title: 'Kind', width: '72px', cell: (each) => kindWords[each.kind] },
            { key: 'words', title: 'What', cell: (each) => each.words },
            { key: 'before', title: 'Before', cell: (each) => each.before ?? NO_VALUE },
            { key: 'after', title: 'After', cell: (each) => each.after ?? NO_VALUE },
          ]}
          rows={differences}
          keyOf={(each) => `${each.kind} ${each.path}`}
        />
      )}
    </div>
  );
}
