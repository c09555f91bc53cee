/** What a photograph may be, the same for the page and the daemon. */

/** A camera of 50 megapixels stays under this (common practice, no source). */
export const MOST_PHOTO_BYTES = 12_000_000;
/** Of all photographs of one firing together: ten of the largest, some forty of a telephone's. */
export const MOST_PHOTOS_BYTES = 120_000_000;

/** What is taken, in words. */
export const PHOTO_RIGHT = 'a JPEG or PNG picture of up to 12 MB';
