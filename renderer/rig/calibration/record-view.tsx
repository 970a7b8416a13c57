/** One calibration record: verdict, figures against their limits, uncertainty with its parts, findings, readings. */
import type { CalibrationRecord } from '../../../shared-core/calibration/record.ts';
import { formatNumber, formatQuantity, NO_VALUE } from '../../ui/format.ts';

const verdictWords = { pass: 'Passed', fail: 'Failed', incomplete: 'Incomplete' } as const;

export function RecordView({ record }: { readonly record: CalibrationRecord }) {
  const { uncertainty, figures, findings, data } = record;
  return (
    <div className="record" data-testid="record" data-verdict={record.verdict}>
      <p className="record-verdict" role="status">
        <b>{verdictWords[record.verdict]}</b>
        {record.verdict === 'fail' && ': the terms of the channel stay as they were; the record is kept.'}
        {record.verdict === 'incomplete' && ': a limit is set for a figure that the readings do not tell.'}
      </p>
      <p className="muted">
        {record.method} By {record.who}, {record.date}
        {record.dueDate === '' ? '' : `, due ${record.dueDate}`}.{' '}
        {record.reference === '' ? '' : `Held against ${record.reference}.`}
      </p>
      <table className="table record-figures">
        <caption className="sr-only">Figures</caption>
        <thead>
          <tr>
            <th scope="col">Figure</th>
            <th scope="col" className="number">
              Found
            </th>
            <th scope="col" className="number">
              Limit
            </th>
            <th scope="col">Met</th>
          </tr>
        </thead>
        <tbody>
          {figures.map((each) => (
            <tr key={each.name} data-met={each.isMet ?? 'not judged'}>
              <th scope="row">{each.name}</th>
              <td className="number">
                {each.value === null ? 'not known' : formatQuantity(each.value, decimalsFor(each.value), each.unit)}
              </td>
              <td className="number">
                {each.limit === null ? NO_VALUE : formatQuantity(each.limit, decimalsFor(each.limit), each.unit)}
              </td>
              <td>{each.isMet === null ? '' : each.isMet ? '✓ yes' : '✗ no'}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {record.calibrations.map((c) => (
        <p key={c.channel}>
          <code>{c.channel}</code> = {digits(c.a0)} + {digits(c.a1)}·x{c.a2 === 0 ? '' : ` + ${digits(c.a2)}·x²`}
        </p>
      ))}
      {uncertainty !== null && (
        <p data-testid="record-uncertainty">
          Uncertainty U = {formatQuantity(uncertainty.U, decimalsFor(uncertainty.U), uncertainty.unit)}, k ={' '}
          {formatNumber(uncertainty.k, 2)}, p = {formatNumber(100 * uncertainty.p, 0)} %.{' '}
          <span className="muted">
            Of{' '}
            {uncertainty.parts
              .filter((part) => part.u > 0)
              .slice(0, 5)
              .map((part) => `${part.name} ${formatNumber(part.u, decimalsFor(part.u))}`)
              .join(', ')}
            .
          </span>
        </p>
      )}
      {findings.length > 0 && (
        <ul className="reasons">
          {findings.map((finding) => (
            <li key={finding}>{finding}</li>
          ))}
        </ul>
      )}
      <details>
        <summary>Readings, {data.rows.length}</summary>
        <table className="table">
          <caption className="sr-only">Readings</caption>
          <thead>
            <tr>
              {data.columns.map((column) => (
                <th key={column.name} scope="col" className="number">
                  {column.unit === '' || column.unit === '1' ? column.name : `${column.name}, ${column.unit}`}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {data.rows.map((row, i) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: readings have nothing of their own but their place.
              <tr key={i}>
                {row.map((cell, k) => (
                  // biome-ignore lint/suspicious/noArrayIndexKey: as above.
                  <td key={k} className="number">
                    {cell === null ? NO_VALUE : typeof cell === 'number' ? formatNumber(cell, decimalsFor(cell)) : cell}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </details>
    </div>
  );
}

/** Four significant digits, without noise behind whole numbers. */
function decimalsFor(value: number): number {
  if (Number.isInteger(value)) return 0;
  const size = Math.floor(Math.log10(Math.abs(value)));
  return Math.max(0, Math.min(6, 3 - size));
}

function digits(value: number): string {
  return String(Number(value.toPrecision(7))).replace('-', '\u2212');
}
