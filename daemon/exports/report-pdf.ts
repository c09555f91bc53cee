/** The report of one firing for the conservation file, as a PDF with its fonts inside. */
import { createRequire } from 'node:module';
import type { Readable } from 'node:stream';
import PDFDocument from 'pdfkit';
import type { Segment } from '../core/plan/schedule.ts';
import { stampWords, verdictWords } from '../wire/proof-words.ts';
import { type FiringReport, wallTime, zoneName } from './firing-report.ts';
import { drawCurve } from './report-curve.ts';

const require = createRequire(import.meta.url);
const FONT = require.resolve('dejavu-fonts-ttf/ttf/DejaVuSans.ttf');
const BOLD = require.resolve('dejavu-fonts-ttf/ttf/DejaVuSans-Bold.ttf');

/** Points; a sheet of A4 has 595 × 842 of them. */
const MARGIN = 50;
const CURVE_HEIGHT = 220;
const INK = '#111111';
const QUIET = '#555555';

export const CAUTIONS = [
  'These are temperatures of the thermocouples, not of the glass. In a sheath a couple shows everything one to three minutes late.',
  'The record tells what was measured and done. It does not tell whether the glass is sound: nobody sees a crack from outside.',
  'The watch is no safety device. It neither heats nor switches off.',
];

/** Resolves at once; the document is written while the stream is read. */
export function reportPdf(report: FiringReport): Readable {
  const { detail } = report;
  const paper = new PDFDocument({
    size: 'A4',
    margin: MARGIN,
    bufferPages: true,
    lang: 'en',
    displayTitle: true,
    info: {
      Title: `Firing ${detail.id}`,
      Author: 'Spyhole',
      Subject: `${detail.kilnName}, ${detail.scheduleName ?? 'no plan'}`,
      CreationDate: new Date(report.madeAtMs),
    },
  });
  paper.registerFont('text', FONT).registerFont('bold', BOLD).font('text').fillColor(INK);
  title(paper, report);
  const top = paper.y + 6;
  const box = { left: MARGIN + 42, top, width: paper.page.width - 2 * MARGIN - 42, height: CURVE_HEIGHT };
  drawCurve(paper, report, box);
  paper.x = MARGIN;
  paper.y = top + CURVE_HEIGHT + 42;
  sections(paper, report);
  numberPages(paper, detail.id);
  paper.end();
  // The document is one of Node's readable streams, which its types say less exactly.
  return paper as unknown as Readable;
}

type Paper = PDFKit.PDFDocument;

function title(paper: Paper, { detail, utcOffsetMinutes, madeAtMs }: FiringReport): void {
  const zone = zoneName(utcOffsetMinutes);
  const ended = detail.endedAtMs === null ? 'and is still on' : `to ${wallTime(detail.endedAtMs, utcOffsetMinutes)}`;
  paper
    .font('bold')
    .fontSize(16)
    .text(detail.scheduleName ?? 'Firing without a plan');
  paper
    .font('text')
    .fontSize(9)
    .text(`${detail.kilnName}, ${wallTime(detail.startedAtMs, utcOffsetMinutes)} ${ended} (${zone})`);
  paper
    .fillColor(QUIET)
    .text(`Firing ${detail.id}; report of ${wallTime(madeAtMs, utcOffsetMinutes)}`)
    .fillColor(INK);
  if (detail.simulated) paper.font('bold').text('SIMULATED: no kiln was fired.').font('text');
}

function sections(paper: Paper, report: FiringReport): void {
  const { detail, proof, utcOffsetMinutes } = report;
  const time = (atMs: number): string => wallTime(atMs, utcOffsetMinutes).slice(5);
  heading(paper, 'Figures');
  for (const { label, value } of report.figures) pair(paper, label, value);

  if (detail.schedule !== null) heading(paper, 'The plan');
  for (const [i, segment] of (detail.schedule?.segments ?? []).entries()) {
    pair(paper, `Part ${i + 1}`, segmentWords(segment));
  }

  heading(paper, 'What hand and eye did');
  const acts = detail.acts.filter((act) => act.deed === 'act');
  if (acts.length === 0) sentence(paper, 'Nothing was logged.');
  for (const act of acts) {
    const at = act.celsius === null ? '' : ` at ${tenth(act.celsius)} °C`;
    const corrects = act.correctsAtMs === undefined ? '' : ` (sets right what was logged at ${time(act.correctsAtMs)})`;
    pair(paper, time(act.atMs), `${[act.what, act.value].filter(Boolean).join(' ')}${at}, ${act.by}${corrects}`);
  }

  heading(paper, 'Alerts');
  if (detail.alertList.length === 0) sentence(paper, 'None.');
  for (const alert of detail.alertList) {
    const call = detail.figures?.calls.find(({ id }) => id === alert.id);
    const seen = call?.seenAtMs == null ? '' : ` Seen by ${call.seenBy ?? 'somebody'} at ${time(call.seenAtMs)}.`;
    pair(paper, time(alert.sinceMs), `${alert.alert.replaceAll('-', ' ')}: ${alert.message}${seen}`);
  }

  if (detail.gaps.length > 0) heading(paper, 'Gaps');
  for (const gap of detail.gaps) pair(paper, time(gap.fromMs), `${gap.why}, until ${time(gap.atMs)}`);

  heading(paper, 'Notes');
  if (detail.notes.length === 0) sentence(paper, 'None.');
  for (const note of detail.notes) {
    pair(paper, time(note.atMs), `${note.text === '' ? 'Photograph' : note.text} (${note.by})`);
    if (note.photo !== undefined) photograph(paper, note.photo.sha256, report.photos.get(note.photo.sha256));
  }
  for (const { atMs, line, was, is, why, by } of detail.corrections) {
    pair(paper, time(atMs), `Line ${line} said “${was}”; it should say “${is}”: ${why} (${by})`);
  }
  for (const { atMs, meaning, by, lines, head } of detail.signOffs) {
    pair(paper, time(atMs), `Signed off by ${by}: ${meaning}. Lines 1 to ${lines} stood under the seal`);
    paper.fontSize(SEAL_SIZE);
    pair(paper, '', head);
    paper.fontSize(9);
  }

  heading(paper, 'How it was measured');
  for (const one of report.sensors) sentence(paper, one);
  sentence(paper, `Recorded by ${report.software}.`);

  heading(paper, 'Proof');
  paper.fontSize(SEAL_SIZE);
  pair(paper, 'Verdict', verdictWords(proof));
  pair(paper, 'Lines', String(proof.lines));
  pair(paper, 'Seal', proof.head);
  pair(paper, 'Key', proof.key ?? 'none: nobody has signed for it');
  if (proof.sealedAtMs !== null)
    pair(paper, 'Signed', `${wallTime(proof.sealedAtMs, utcOffsetMinutes)}, seal ${proof.sealCount}`);
  const stamped = stampWords(proof, (atMs) => wallTime(atMs, utcOffsetMinutes));
  if (stamped !== null) {
    const how = proof.stamp === null ? '' : ' openssl ts -verify checks it, as the README of the export says.';
    pair(paper, 'Time authority', `${stamped}${how}`);
  }

  heading(paper, 'To be borne in mind');
  for (const caution of CAUTIONS) sentence(paper, caution);
}

function segmentWords(segment: Segment): string {
  if (segment.kind === 'hold') return `hold for ${segment.minutes} min`;
  const { toC, rateCPerH } = segment;
  if (rateCPerH === 'flat-out') return `to ${toC} °C flat out`;
  return rateCPerH === 'let-fall' ? `let it fall to ${toC} °C` : `to ${toC} °C at ${rateCPerH} °C/h`;
}

const LABEL_WIDTH = 150;
/** The 64 digits of a seal stand in one line, so that they can be compared. */
const SEAL_SIZE = 8;
const PHOTO_HEIGHT = 200;

function heading(paper: Paper, text: string): void {
  if (paper.y > paper.page.height - MARGIN - 70) paper.addPage();
  paper.moveDown(0.7).font('bold').fontSize(11).text(text, MARGIN).moveDown(0.25).font('text').fontSize(9);
}

function sentence(paper: Paper, text: string): void {
  paper.text(printable(text), MARGIN, paper.y, { width: paper.page.width - 2 * MARGIN });
}

/** A label and its value side by side; both together stay on one page. */
function pair(paper: Paper, label: string, value: string): void {
  const width = paper.page.width - 2 * MARGIN - LABEL_WIDTH;
  const shown = printable(value);
  const height = Math.max(paper.heightOfString(shown, { width }), 11);
  if (paper.y + height > paper.page.height - MARGIN - 14) paper.addPage();
  const top = paper.y;
  paper.fillColor(QUIET).text(printable(label), MARGIN, top, { width: LABEL_WIDTH - 8 });
  const below = paper.y;
  paper.fillColor(INK).text(shown, MARGIN + LABEL_WIDTH, top, { width });
  paper.y = Math.max(paper.y, below);
  paper.x = MARGIN;
}

/** A photograph under its note, with its hash; where it cannot be drawn, the hash alone. */
function photograph(paper: Paper, sha256: string, bytes: Buffer | undefined): void {
  const left = MARGIN + LABEL_WIDTH;
  const width = paper.page.width - MARGIN - left;
  if (bytes !== undefined) {
    if (paper.y + PHOTO_HEIGHT > paper.page.height - MARGIN - 30) paper.addPage();
    const top = paper.y + 4;
    try {
      paper.image(bytes, left, top, { fit: [width, PHOTO_HEIGHT] });
      paper.y = top + PHOTO_HEIGHT + 4;
    } catch {
      // Not every JPEG can be drawn; it stands in the zip as it was filed.
      paper.y = top;
    }
  }
  paper.fontSize(7).fillColor(QUIET).text(`Photograph, SHA-256 ${sha256}`, left, paper.y, { width });
  paper.fontSize(9).fillColor(INK);
  paper.x = MARGIN;
}

function numberPages(paper: Paper, id: string): void {
  const { start, count } = paper.bufferedPageRange();
  for (let page = start; page < start + count; page += 1) {
    paper.switchToPage(page);
    // Below the margin, where text would otherwise begin a page of its own.
    paper.page.margins.bottom = 0;
    const foot = `${id}, page ${page + 1} of ${count}`;
    paper.font('text').fontSize(7).fillColor(QUIET);
    paper.text(foot, MARGIN, paper.page.height - 32, {
      width: paper.page.width - 2 * MARGIN,
      align: 'center',
      lineBreak: false,
    });
  }
}

function tenth(celsius: number): string {
  return (Math.round(celsius * 10) / 10).toFixed(1);
}

/** One line of what can be printed: what a person typed may hold anything. */
function printable(text: string): string {
  return text.replace(/\p{Control}+/gu, ' ');
}
