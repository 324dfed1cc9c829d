"""The one seam to OCP and CadQuery's B-rep calls.

Everything above this folder speaks the toolkit's own types; everything in it turns those into kernel shapes and back,
and turns every kernel failure into `KernelError`.  Each module is imported inside functions, because loading the
kernel takes seconds that `--help` and joint specs need not pay.
"""
