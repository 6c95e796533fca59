/** The bit rate of a bus, which no log tells: typed in kbit/s, taken when the field is left or Enter is pressed. */
import { useState, type ReactNode } from 'react';
import { useDossier } from '../../stores/dossier.ts';

const USUAL = [125, 250, 500, 1000];
const KILO = 1000;

export function BitRateField({ bus, fd }: { bus: string; fd: boolean }): ReactNode {
  const rate = useDossier(({ dossier }) => dossier.rates[bus]);
  return (
    <>
      <Kilobits
        label={`Bit rate of ${bus}, kbit/s`}
        value={rate?.bitrate ?? null}
        onTake={(bitrate) => setRate(bus, { bitrate })}
      />
      {fd && rate && (
        <Kilobits
          label={`Data bit rate of ${bus}, kbit/s`}
          value={rate.dataBitrate}
          onTake={(dataBitrate) => setRate(bus, { dataBitrate })}
        />
      )}
      <span className="tiny dim">kbit/s</span>
    </>
  );
}

interface KilobitsProps {
  readonly label: string;
  /** bit/s */
  readonly value: number | null;
  readonly onTake: (bitsPerSecond: number | null) => void;
}

function Kilobits({ label, value, onTake }: KilobitsProps): ReactNode {
  const shown = value === null ? '' : String(value / KILO);
  const [text, setText] = useState<string | null>(null);
  const take = (): void => {
    if (text === null) return;
    const typed = Number(text.replace(',', '.'));
    if (text.trim() === '') onTake(null);
    else if (typed > 0 && typed <= 20_000) onTake(typed * KILO);
    setText(null);
  };
  return (
    <>
      <input
        className="field rate-field"
        inputMode="decimal"
        aria-label={label}
        placeholder="?"
        list="usual-bit-rates"
        value={text ?? shown}
        onChange={(event) => setText(event.target.value)}
        onBlur={take}
        onKeyDown={(event) => event.key === 'Enter' && take()}
      />
      <datalist id="usual-bit-rates">
        {USUAL.map((kilobits) => (
          <option key={kilobits} value={kilobits} />
        ))}
      </datalist>
    </>
  );
}

function setRate(bus: string, part: { bitrate?: number | null; dataBitrate?: number | null }): void {
  useDossier.getState().change('set bit rate', (dossier) => {
    const { [bus]: old, ...others } = dossier.rates;
    if (part.bitrate === null) return { ...dossier, rates: others };
    const bitrate = part.bitrate ?? old?.bitrate;
    if (bitrate === undefined) return dossier;
    const dataBitrate = part.dataBitrate === undefined ? (old?.dataBitrate ?? null) : part.dataBitrate;
    return { ...dossier, rates: { ...others, [bus]: { ...old, bitrate, dataBitrate } } };
  });
}
