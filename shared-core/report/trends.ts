/** The trends that a report draws: minimum and maximum per second of the channels worth a figure. */
import type { Quantity } from '../channels/channel.ts';
import type { PipelineView } from '../pipeline-contract.ts';

export interface TrendColumn {
  readonly key: string;
  readonly quantity: Quantity;
  readonly label: string;
  readonly unit: string;
  /** One place per second of the session; NaN for none. */
  readonly min: readonly number[];
  readonly max: readonly number[];
}

const drawn = new Set([
  'shaft-speed',
  'thrust',
  'torque',
  'head-temperature',
  'exhaust-temperature',
  'fuel-flow',
  'throttle-demand',
  'brake-power',
]);

interface Column {
  readonly key: string;
  readonly quantity: Quantity;
  readonly label: string;
  readonly unit: string;
  readonly min: number[];
  readonly max: number[];
}

export class Trends {
  readonly #columns: Column[] = [];
  #ordinals: number[] = [];
  #chosen: Column[] = [];
  #layoutVersion = -1;

  add(t_us: number, view: PipelineView): void {
    if (view.layoutVersion !== this.#layoutVersion) this.#layoutChanged(view);
    const second = Math.floor(t_us / 1e6);
    for (let k = 0; k < this.#ordinals.length; k++) {
      const sample = view.values.value[this.#ordinals[k]!]!;
      if (Number.isNaN(sample)) continue;
      const { min, max } = this.#chosen[k]!;
      while (min.length <= second) {
        min.push(Number.NaN);
        max.push(Number.NaN);
      }
      if (!(min[second]! <= sample)) min[second] = sample;
      if (!(max[second]! >= sample)) max[second] = sample;
    }
  }

  result(): readonly TrendColumn[] {
    return this.#columns;
  }

  #layoutChanged(view: PipelineView): void {
    this.#layoutVersion = view.layoutVersion;
    this.#ordinals = [];
    this.#chosen = [];
    view.values.channels.forEach((channel, i) => {
      if (!drawn.has(channel.quantity)) return;
      let column = this.#columns.find((each) => each.key === channel.key);
      if (column === undefined) {
        column = {
          key: channel.key,
          quantity: channel.quantity,
          label: channel.label,
          unit: channel.unit,
          min: [],
          max: [],
        };
        this.#columns.push(column);
      }
      this.#ordinals.push(i);
      this.#chosen.push(column);
    });
  }
}
