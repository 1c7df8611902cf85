/** The keys of drawn circuits. */
