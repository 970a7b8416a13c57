/** The channel table as a bench sends it (PROTOCOL.md, parts 5 and 7): rows against identity, each other and the list of quantities. */
import type { TableRow } from '../../shared-core/line/checked-line.ts';
import type { BenchTable, Identity } from '../../shared-core/line/messages.ts';
import { TableCollector } from '../../shared-core/line/table-collector.ts';
import type { Findings } from './findings.ts';

/** Part 7: units of a like kind, of which the host converts each into the other. */
const alike: readonly (readonly string[])[] = [
  ['/min', 'Hz'],
  ['N', 'kgf', '[lbf_av]'],
  ['N.m'],
  ['Cel', 'K', '[degF]'],
  ['L/h', 'mL/min', '[gal_us]/h'],
  ['mL', 'L'],
  ['%'],
  ['us', 'ms'],
  ['V', 'mV'],
  ['A', 'mA'],
  ['Pa', 'hPa', 'kPa', 'bar'],
];

/** Part 7: the unit that each known quantity usually has. */
const usualUnit: Readonly<Record<string, string>> = {
  'shaft-speed': '/min',
  thrust: 'N',
  torque: 'N.m',
  'head-temperature': 'Cel',
  'exhaust-temperature': 'Cel',
  'fuel-flow': 'L/h',
  'fuel-total': 'mL',
  'fuel-level': 'L',
  'fuel-temperature': 'Cel',
  'throttle-demand': '%',
  'servo-pulse': 'us',
  'supply-voltage': 'V',
  'starter-current': 'A',
  'generator-voltage': 'V',
  'generator-current': 'A',
  'ambient-temperature': 'Cel',
  'ambient-pressure': 'hPa',
  'ambient-humidity': '%',
  'inlet-temperature': 'Cel',
};

export class TableWatch {
  readonly #findings: Findings;
  readonly #collector = new TableCollector();
  #identity: Identity | null = null;
  /** Text of each row by layout and place. */
  readonly #rows = new Map<string, string>();

  constructor(findings: Findings) {
    this.#findings = findings;
  }

  get table(): BenchTable | null {
    return this.#collector.table;
  }

  /** Names of all rows of the complete table. */
  get rowNames(): readonly string[] {
    const { table } = this;
    if (!table) return [];
    return [
      ...table.groups.map((row) => `G ${row.group}`),
      ...table.channels.map((row) => `C ${row.channel}`),
      ...table.inputs.map((row) => `D ${row.input}`),
    ];
  }

  identity(identity: Identity): void {
    this.#identity = identity;
    this.#collector.takeIdentity(identity);
  }

  /** Takes a row; returns its name. */
  row(line: TableRow, said: () => string): string {
    const number = line.kind === 'G' ? line.row.group : line.kind === 'C' ? line.row.channel : line.row.input;
    const name = `${line.kind} ${number}`;
    const identity = this.#identity;
    const note = this.#findings.note.bind(this.#findings);
    if (identity) note('table-layout', line.layout === identity.layout, `${said()}, identity says ${identity.layout}`);
    const place = `${line.layout} ${name}`;
    const text = JSON.stringify(line.row);
    const known = this.#rows.get(place);
    note('layout-differs', known === undefined || known === text, `${said()}: was another row under the same layout`);
    this.#rows.set(place, text);
    const isAdmitted = this.#collector.admits(line);
    note('table-keys', isAdmitted, `${said()}: its key is taken, or its number is beyond those announced`);
    if (isAdmitted) this.#collector.takeRow(line);
    if (line.kind === 'C') {
      const usual = usualUnit[line.row.quantity];
      const isConverted =
        usual === undefined || alike.some((units) => units.includes(usual) && units.includes(line.row.unit));
      note('table-units', isConverted, `${said()}: ${line.row.quantity} is usually in ${usual}`);
    }
    return name;
  }

  finish(): void {
    const { table } = this;
    const identity = this.#identity;
    if (!identity) return;
    const here = [...this.#rows.keys()].filter((place) => place.startsWith(identity.layout)).length;
    const announced = identity.groups + identity.channels + identity.inputs;
    this.#findings.note(
      'table-complete',
      table !== null,
      `${here} of ${announced} rows came, or they do not fit together`,
    );
  }
}
