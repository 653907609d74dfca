"""Pure calculations: values with units in, values out, source in every docstring."""
