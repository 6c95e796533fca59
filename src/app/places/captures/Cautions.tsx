/** The usual cautions, where the work can hurt someone: short, and not in the way of reading a file that exists already. */
import type { ReactNode } from 'react';

export function RecordingCautions(): ReactNode {
  return (
    <section className="cautions">
      <h3>Before you record</h3>
      <ul className="problems">
        <li>
          A drive battery kills, also in a wreck. Only people trained for it open high-voltage parts or their covers;
          local rules come first.
        </li>
        <li>
          Connect a logger that only listens. A node that sends, or answers, on a live bus can start a motor or close a
          contactor.
        </li>
        <li>
          With the part powered, wheels off the ground or shaft free, brake set, an emergency stop in reach. While
          driving, the driver drives and someone else marks.
        </li>
      </ul>
    </section>
  );
}
