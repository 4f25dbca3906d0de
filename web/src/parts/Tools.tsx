// What stands beside every picture: its table, and its copies.
import { useSignal, type Signal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { copy_png, copy_svg, copy_text } from "./copying";

export interface TableData {
  heads: string[];
  rows: (string | number)[][];
}

interface ToolsProps {
  /** What the picture shows; names the buttons and the file. */
  name: string;
  /** The picture as an SVG file of its own. */
  svg?: () => string | null;
  /** Whether the table is open; made by the owner, who shows a DataTable while it is. */
  table?: Signal<boolean>;
}

export function Tools({ name, svg, table }: ToolsProps) {
  const copy = (how: (svg: string, name: string) => Promise<void>) => () => {
    const drawn = svg?.();
    if (drawn) void how(drawn, name);
  };
  return (
    <span class="tools">
      {table && (
        <button
          type="button"
          class="quiet"
          aria-pressed={table.value}
          aria-label={`${name}: table`}
          onClick={() => (table.value = !table.value)}
        >
          Table
        </button>
      )}
      {svg && (
        <>
          <button type="button" class="quiet" aria-label={`${name}: copy as SVG`} title="Copy as SVG" onClick={copy(copy_svg)}>
            SVG
          </button>
          <button type="button" class="quiet" aria-label={`${name}: copy as PNG`} title="Copy as PNG" onClick={copy(copy_png)}>
            PNG
          </button>
        </>
      )}
    </span>
  );
}

export function DataTable({ name, data }: { name: string; data: TableData }) {
  const plain = () => [data.heads, ...data.rows].map((row) => row.join("\t")).join("\n");
  return (
    <div class="data">
      <div class="scroll" tabIndex={0} role="region" aria-label={`${name}: table`}>
        <table>
          <thead>
            <tr>
              {data.heads.map((head) => (
                <th scope="col" key={head}>
                  {head}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {data.rows.map((row, index) => (
              <tr key={index}>
                {row.map((cell, column) => (column ? <td key={column}>{cell}</td> : <th scope="row" key={column}>{cell}</th>))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <button type="button" class="quiet" onClick={() => void copy_text(plain(), `the table of “${name}”`)}>
        Copy table
      </button>
    </div>
  );
}

interface FigureProps {
  title: string;
  note?: ComponentChildren;
  svg?: () => string | null;
  table?: () => TableData;
  children: ComponentChildren;
}

/** A picture with its title, its tools and, on demand, its table. */
export function Figure({ title, note, svg, table, children }: FigureProps) {
  const open = useSignal(false);
  return (
    <figure>
      <figcaption>
        <span class="title">{title}</span> {note && <small>{note}</small>}
        <Tools name={title} {...(svg ? { svg } : {})} {...(table ? { table: open } : {})} />
      </figcaption>
      {children}
      {open.value && table && <DataTable name={title} data={table()} />}
    </figure>
  );
}
