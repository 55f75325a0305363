/**
 * Standard deviations on either side of a figure that a guarded decision keeps from its limit: about 95 % of a normal
 * distribution (coverage factor k = 2 of JCGM 100:2008, section 6.2; from memory).
 */
export const COVERAGE = 2;
