fn main() {
    let text = std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap();
    let reading = testlamp::plan::read(text);
    for m in &reading.misreads {
        println!("{:?} {:?} | {} | {}", m.span, &reading.text[m.span.clone()], m.what, m.mend);
    }
    println!("{:#?}", reading.plan.wires.keys());
    if std::env::args().nth(2).is_some() {
        println!("{:#}", testlamp::plan::schema());
    }
}
