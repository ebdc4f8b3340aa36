//! The page of the worksheet: protocol, worker, drawing, behaviour.
