"""The commands of the command line, one module each.  Heavy rooms are opened only inside the command."""
