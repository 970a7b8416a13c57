/** A plain table: hairlines, numbers right-aligned, one row may be selected. */
import type { ReactNode } from 'react';

export interface Column<Row> {
  readonly key: string;
  readonly title: ReactNode;
  readonly cell: (row: Row) => ReactNode;
  readonly isNumber?: boolean;
  /** CSS width. */
  readonly width?: string;
}

export interface TableProps<Row> {
  /** For screen readers; not drawn. */
  readonly caption: string;
  readonly columns: readonly Column<Row>[];
  readonly rows: readonly Row[];
  readonly keyOf: (row: Row) => string;
  readonly selected?: string | null;
  readonly onSelect?: (row: Row) => void;
  readonly 'data-testid'?: string;
}

export function Table<Row>({ caption, columns, rows, keyOf, selected, onSelect, ...rest }: TableProps<Row>) {
  return (
    <table className="table" {...rest}>
      <caption className="sr-only">{caption}</caption>
      <thead>
        <tr>
          {columns.map((c) => (
            <th
              key={c.key}
              scope="col"
              className={c.isNumber ? 'number' : undefined}
              style={c.width ? { width: c.width } : undefined}
            >
              {c.title}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {rows.map((row) => {
          const key = keyOf(row);
          return (
            <tr
              key={key}
              data-row={key}
              aria-selected={onSelect ? selected === key : undefined}
              className={onSelect ? 'selectable' : undefined}
              tabIndex={onSelect ? 0 : undefined}
              onClick={onSelect ? () => onSelect(row) : undefined}
              onKeyDown={
                onSelect
                  ? (e) => {
                      if (e.target !== e.currentTarget || (e.key !== 'Enter' && e.key !== ' ')) return;
                      e.preventDefault();
                      onSelect(row);
                    }
                  : undefined
              }
            >
              {columns.map((c) => (
                <td key={c.key} className={c.isNumber ? 'number' : undefined}>
                  {c.cell(row)}
                </td>
              ))}
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}
