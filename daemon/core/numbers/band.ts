/** A band holds nine of ten: of a normal distribution they lie within so many standard deviations to each side. Source: any table of it. */
export const BAND_SIGMAS = 1.645;
