"""The live preview: a design's report page that follows every save, served to this machine only.

Comes in: a design file and the saves of its files.  Goes out: the page, and messages that renew it in place.  Builds run in
processes of their own (`builds`, `worker`): nothing here may import the kernel into the server.
"""
