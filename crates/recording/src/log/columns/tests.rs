use super::*;
use crate::testing::entries;
use proptest::prelude::*;

proptest! {
    #[test]
    fn every_entry_comes_back_from_its_row(list in entries(40)) {
        let mut rows = Builder::new(&["bench".to_owned()]);
        list.iter().for_each(|e| rows.push(e));
        let rows = rows.take().unwrap();
        let mut back = Vec::new();
        parse(&rows, &mut back).unwrap();
        prop_assert_eq!(back, list);
    }
}
