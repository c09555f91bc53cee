/** Why an instrument gives no values, in words that help. */
import { exceptionInWords } from './exceptions.ts';
import type { Misfit } from './frames.ts';
import type { UnitTrouble } from './unit-poll.ts';

/** @param where the wire as the person knows it: `/dev/ttyUSB0 at 9600 baud` */
export function whyNoValues(unit: number, where: string, trouble: UnitTrouble): string {
  switch (trouble.kind) {
    case 'silence':
      return `Unit ${unit} on ${where} does not answer. Check its power, the wires A and B, its unit number, speed and parity; it is asked again by itself.`;
    case 'garbled':
      return `Unit ${unit} on ${where} answers, but no whole answer arrives. Check speed and parity, the wires A and B, and the resistors at both ends of the line.`;
    case 'misfit':
      return `Unit ${unit} on ${where}: ${MISFITS[trouble.misfit]}`;
    case 'out-of-step':
      return `Unit ${unit} on ${where} answers out of step: what it answers belongs to earlier questions, so no value of it is shown. Switch it off and on.`;
    case 'unprovable':
      return `Unit ${unit} on ${where} has missed a question, and cannot be shown to be in step again, so no value of it is shown. Put the registers to read side by side, or give their types different lengths.`;
    case 'exception':
      return `Unit ${unit} on ${where} gives no value: ${exceptionInWords(trouble.code)}.`;
    case 'babble':
      return `On ${where} something talks without a pause, so nothing can be asked. Let one program only ask on this line, and check speed and parity.`;
    case 'alien':
      return `What answers at ${where} is no Modbus. Check the port, or write kind: modbus-rtu where the box hands serial frames through.`;
    case 'gone':
      return `${where} is gone.`;
  }
}

const MISFITS: Readonly<Record<Misfit, string>> = {
  unit: 'another unit answers in its place. Give each instrument a unit number of its own.',
  function: 'an answer to another kind of question came. It is drained and asked again by itself.',
  'byte-count':
    'an answer of another length came than was asked for, so it is not believed. Correct its register and type if this goes on.',
  number:
    'the answers carry another number than the questions. They are late, or the gateway never repeats the number: if this goes on write repeatsNumber: false.',
  'nobody-asked':
    'answers come that nobody asked for, so none is believed. Let one program only ask on this line; check for a second one.',
};
