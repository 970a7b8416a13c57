/**
 * Gathers what each channel did between two display steps: minimum, maximum,
 * last. The host takes a batch about 30 times a second; merging batches for
 * which a page had no credit is done where the credits are.
 */
import type { DisplayBatch, StreamName } from '../bridge/contract.ts';
import type { LiveValues, PipelineView } from '../pipeline-contract.ts';
import { quality } from './quality.ts';

export class DisplaySteps {
  readonly #stream: StreamName;
  #layoutVersion = -1;
  #count = 0;
  #from_us = -1;
  #min = new Float64Array(0);
  #max = new Float64Array(0);
  /** Time of the newest sample already taken in, per channel. */
  #seen_us = new Float64Array(0);
  #merged = 1;

  constructor(stream: StreamName) {
    this.#stream = stream;
  }

  /** To be called from `PipelineObserver.onValues`. */
  add(t_us: number, view: PipelineView): void {
    if (view.layoutVersion !== this.#layoutVersion) this.#fit(view);
    if (this.#from_us < 0) this.#from_us = t_us;
    const { value, quality: state, updated_us } = view.values;
    const min = this.#min;
    const max = this.#max;
    const seen_us = this.#seen_us;
    for (let i = 0; i < this.#count; i++) {
      const at_us = updated_us[i]!;
      if (at_us === seen_us[i]!) continue;
      seen_us[i] = at_us;
      if (state[i] !== quality.good) continue;
      const each = value[i]!;
      // "Not at or above", because the step's first sample meets NaN.
      if (!(each >= min[i]!)) min[i] = each;
      if (!(each <= max[i]!)) max[i] = each;
    }
  }

  /** The host's step came and nobody could take a batch: the next one covers this step too. */
  skip(): void {
    this.#merged++;
  }

  /**
   * What happened since the last `take`, and begins the next step. Values,
   * qualities and ages are those of the view now, so that a silent link shows.
   */
  take(view: PipelineView, arrivedAt_epochMs: number): DisplayBatch {
    if (view.layoutVersion !== this.#layoutVersion) this.#fit(view);
    const values: LiveValues = view.values;
    const to_us = view.now_us;
    const batch: DisplayBatch = {
      stream: this.#stream,
      layoutVersion: this.#layoutVersion,
      from_us: this.#from_us < 0 ? to_us : this.#from_us,
      to_us,
      merged: this.#merged,
      min: this.#min,
      max: this.#max,
      last: values.value.slice(0, this.#count),
      quality: values.quality.slice(0, this.#count),
      updated_us: values.updated_us.slice(0, this.#count),
      arrivedAt_epochMs,
    };
    this.#min = new Float64Array(this.#count).fill(NaN);
    this.#max = new Float64Array(this.#count).fill(NaN);
    this.#from_us = -1;
    this.#merged = 1;
    return batch;
  }

  #fit(view: PipelineView): void {
    this.#layoutVersion = view.layoutVersion;
    this.#count = view.values.channels.length;
    this.#min = new Float64Array(this.#count).fill(NaN);
    this.#max = new Float64Array(this.#count).fill(NaN);
    this.#seen_us = new Float64Array(this.#count).fill(-1);
    this.#from_us = -1;
    this.#merged = 1;
  }
}
