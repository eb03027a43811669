"""The ground floor. Django loads it before anything else, so what numpy must know is said here."""

import os

# The estimator's matrices are small: threads cost more than they bring, and on a busy machine of
# two processors they were seen to take twenty times as long.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
