//! Reading and printing quantities. SI inside; text with a unit outside. Nobody else converts.
