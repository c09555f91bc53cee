/** How a couple is joined to its instrument, as the configuration says it and the record keeps it. */

/** The degrees in which an instrument gives its figures. */
export type Degrees = 'C' | 'F' | 'K';

/** What an instrument's figures count: degrees, or millivolts of a couple. */
export type FigureUnit = Degrees | 'mV';

/** Tolerance class of thermocouple wire, IEC 60584-1. */
export type WireClass = 1 | 2 | 3;

/** Where the couple's wires end, and who knows how warm it is there. */
export type ColdEnd =
  /** The instrument adds it: its figures count from 0 °C. */
  | { readonly kind: 'compensated' }
  /** The instrument tells it beside the couple: the column, topic or point of this name, in °C. */
  | { readonly kind: 'measured'; readonly by: string }
  /** Kept or taken to be at one temperature, and how far off that may be either way. */
  | { readonly kind: 'fixed'; readonly atC: number; readonly errorC: number };

export type ConverterKind = '14-bit' | '19-bit' | '18-bit' | '12-bit' | 'controller' | 'unknown';

/** An instrument's errors as its papers state them, either way, the couple's own apart. */
export interface StatedErrors {
  readonly errorC: number;
  /** Of the thermometer at the terminals. */
  readonly coldErrorC: number;
  /** The last digit. */
  readonly stepC: number;
}

export type ConverterSetup = ConverterKind | StatedErrors;

/** One line of a certificate: the reference stood at `atC`. */
export type CertificatePoint = {
  readonly atC: number;
  /** Expanded, k = 2, as certificates state it. */
  readonly uncertaintyC: number;
} & (
  | { readonly correctionC: number }
  /** What the couple showed then. */
  | { readonly asFoundC: number }
);

export interface SensorCertificate {
  readonly points: readonly CertificatePoint[];
  /** From this instant on the certificate has run out; without it none is known. */
  readonly dueAtMs?: number | undefined;
  /** Its number or name, for the report. */
  readonly certificate?: string | undefined;
}

interface WithSensors {
  readonly sensors: readonly { readonly coldEnd?: ColdEnd | undefined }[];
}

/** The temperatures of terminals that this kiln's inputs tell, by the names of their columns, topics or points. */
export function terminalNames({ sensors }: WithSensors): string[] {
  const names = sensors.flatMap(({ coldEnd }) => (coldEnd?.kind === 'measured' ? [coldEnd.by] : []));
  return [...new Set(names)];
}

export function isTerminals({ sensors }: WithSensors, name: string): boolean {
  return sensors.some(({ coldEnd }) => coldEnd?.kind === 'measured' && coldEnd.by === name);
}
