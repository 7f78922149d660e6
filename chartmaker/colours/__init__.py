"""Which colour each pixel of the artwork has, and which yarn stands for which colour."""
